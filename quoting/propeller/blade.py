"""The propeller's blade as one frozen object: plan, thickness, twist, number and hand."""

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quoting.propeller import sections
from quoting.propeller.catalogue import Hand, TipForm
from quoting.propeller.planform import INNERMOST, STATIONS, planform, thickness_ratio

Array = NDArray[np.float64]

BLADE_COUNTS = (2, 3, 4)
DIAMETERS = (0.05, 6.0)
PITCH_RATIOS = (0.1, 2.5)
CHORD_FACTORS = (0.5, 1.6)


class Reference(StrEnum):
    """The line a blade angle is measured to."""

    FLAT_FACE = "flat face"
    CHORD_LINE = "chord line"


@dataclass(frozen=True, eq=False)
class Blade:
    """One propeller's geometry. Lengths in m, angles in rad; arrays run over stations from boss to tip.

    `r_R`, `c_R`, `t_c`, `beta`: station and chord as fractions of the radius, thickness ratio, blade
    angle to the `reference` line. `sweep_R`: offset of the pitch axis along the section, / R, positive
    towards the trailing edge. `hub_fraction`: radius where the working blade begins / R. `pitch` is the
    nominal pitch in m as stated at `pitch_station`, None for a blade given by its angles. All arrays have
    one shape (n,) and are read-only. Build it with `Blade.wooden` or `Blade.from_table`: they check.
    """

    diameter: float
    blades: int
    hand: Hand
    r_R: Array
    c_R: Array
    t_c: Array
    beta: Array
    hub_fraction: float = INNERMOST
    pitch: float | None = None
    pitch_station: float = 0.75
    tip_form: TipForm = TipForm.ROUND
    chord_factor: float = 1.0
    reference: Reference = Reference.FLAT_FACE
    sweep_R: Array = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        if self.sweep_R.size == 0:
            object.__setattr__(self, "sweep_R", np.zeros_like(self.r_R))
        for name in ("r_R", "c_R", "t_c", "beta", "sweep_R"):
            held = np.array(getattr(self, name), dtype=float)
            held.setflags(write=False)
            object.__setattr__(self, name, held)

    @classmethod
    def wooden(
        cls,
        *,
        diameter: float,
        pitch: float,
        blades: int = 2,
        hand: Hand = Hand.RIGHT,
        tip_form: TipForm = TipForm.ROUND,
        chord_factor: float | None = None,
        pitch_station: float = 0.75,
    ) -> Self:
        """The generic wooden blade with constant pitch on its flat face.

        `diameter` and `pitch` in m; `chord_factor` widens every chord and leaves t/c alone, None for the usual width.
        Constant pitch is the same at every station; `pitch_station` is kept because makers state it at different ones.
        Raises ValueError naming the argument and what would be accepted.

        >>> blade = Blade.wooden(diameter=1.8288, pitch=1.1176)
        >>> round(float(np.degrees(blade.angle_rad(0.75))), 2)
        14.54
        """
        chord_factor = 1.0 if chord_factor is None else chord_factor
        _within("diameter", diameter, DIAMETERS, "m")
        _within("pitch", pitch, (0.0, 20.0), "m")
        _within("pitch/diameter", round(pitch / diameter, 9), PITCH_RATIOS, "")
        _within("chord_factor", chord_factor, CHORD_FACTORS, "")
        _within("pitch_station", pitch_station, (0.2, 1.0), "of the radius")
        _counted(blades)
        chord, sweep = planform(tip_form, STATIONS)
        return cls(
            diameter=float(diameter),
            blades=blades,
            hand=hand,
            r_R=STATIONS,
            c_R=chord * chord_factor,
            t_c=thickness_ratio(STATIONS),
            beta=np.arctan(pitch / (np.pi * diameter * STATIONS)),
            pitch=float(pitch),
            pitch_station=float(pitch_station),
            tip_form=tip_form,
            chord_factor=float(chord_factor),
            sweep_R=sweep * chord_factor,
        )

    @classmethod
    def from_table(
        cls,
        *,
        diameter: float,
        blades: int,
        r_R: ArrayLike,
        c_R: ArrayLike,
        t_c: ArrayLike,
        beta_deg: ArrayLike,
        hand: Hand = Hand.RIGHT,
        reference: Reference = Reference.FLAT_FACE,
        hub_fraction: float | None = None,
        tip_form: TipForm = TipForm.ROUND,
    ) -> Self:
        """Any published blade: equally long columns over stations rising from boss to tip, `beta_deg` in deg.

        `hub_fraction` defaults to the first station. Raises ValueError naming the column and the row.
        """
        _within("diameter", diameter, DIAMETERS, "m")
        _counted(blades)
        columns = {"r_R": r_R, "c_R": c_R, "t_c": t_c, "beta_deg": beta_deg}
        table = {name: np.atleast_1d(np.asarray(column, dtype=float)) for name, column in columns.items()}
        _check_table(table)
        hub = float(table["r_R"][0]) if hub_fraction is None else float(hub_fraction)
        _within("hub_fraction", hub, (0.0, float(table["r_R"][0])), "of the radius, inside the first station")
        if hub <= 0:
            raise ValueError("hub_fraction: 0 given, accepted is more than 0")
        return cls(
            diameter=float(diameter),
            blades=blades,
            hand=hand,
            r_R=table["r_R"],
            c_R=table["c_R"],
            t_c=table["t_c"],
            beta=np.radians(table["beta_deg"]),
            hub_fraction=hub,
            reference=reference,
            tip_form=tip_form,
        )

    @property
    def radius(self) -> float:
        return 0.5 * self.diameter

    @property
    def activity_factor(self) -> float:
        """Per blade, (1e5/16) times the integral of (c/D) x^3 dx from 0.15 R to the tip."""
        x = np.linspace(max(0.15, float(self.r_R[0])), float(self.r_R[-1]), 401)
        return float(
            1e5 / 16 * np.trapezoid(0.5 * np.interp(np.asarray(x, dtype=float), self.r_R, self.c_R) * x**3, x)
        )

    def chord_m(self, x: ArrayLike) -> Array:
        """Chord in m at fractions of the radius `x`."""
        return np.asarray(self.radius * np.interp(np.asarray(x, dtype=float), self.r_R, self.c_R))

    def thickness_m(self, x: ArrayLike) -> Array:
        """Greatest thickness of the section in m at `x`."""
        return np.asarray(self.chord_m(x) * self.thickness_ratio(x))

    def thickness_ratio(self, x: ArrayLike) -> Array:
        return np.asarray(np.interp(np.asarray(x, dtype=float), self.r_R, self.t_c))

    def pitch_m(self, x: ArrayLike) -> Array:
        """Pitch of the flat face in m at `x`: 2 pi r tan(beta)."""
        return np.asarray(2 * np.pi * self.radius * np.asarray(x, dtype=float) * np.tan(self.angle_rad(x)))

    def angle_rad(self, x: ArrayLike) -> Array:
        """Blade angle to the flat face in rad at `x`, whichever line the table was given to."""
        angle = self.reference_angle_rad(x)
        if self.reference is Reference.FLAT_FACE:
            return angle
        return np.asarray(angle - sections.flat_face_offset(self.thickness_ratio(x)))

    def reference_angle_rad(self, x: ArrayLike) -> Array:
        """Blade angle to `reference` at `x`; x tan(beta) is interpolated: exact for constant pitch."""
        station = np.asarray(x, dtype=float)
        return np.asarray(np.arctan2(np.interp(station, self.r_R, self.r_R * np.tan(self.beta)), station))

    def chord_line_angle_rad(self, x: ArrayLike) -> Array:
        """Blade angle to the section's chord line in rad at `x`."""
        angle = self.reference_angle_rad(x)
        if self.reference is Reference.CHORD_LINE:
            return angle
        return np.asarray(angle + sections.flat_face_offset(self.thickness_ratio(x)))

    def sweep_m(self, x: ArrayLike) -> Array:
        """Offset of the pitch axis along the section in m at `x`, positive towards the trailing edge."""
        return np.asarray(self.radius * np.interp(np.asarray(x, dtype=float), self.r_R, self.sweep_R))

    def edges_m(self, x: ArrayLike) -> tuple[Array, Array]:
        """Leading (negative) and trailing edge along the section from the blade's axis in m at `x`."""
        chord, sweep = self.chord_m(x), self.sweep_m(x)
        return sweep - sections.PITCH_AXIS * chord, sweep + (1 - sections.PITCH_AXIS) * chord

    def section_outlines(self, x: ArrayLike, edge: float = 0.0) -> Array:
        """Section outlines at `x`, shape (n, 65, 2) in m, along and square to the face, before twisting."""
        points = sections.outline(self.chord_m(x), self.thickness_m(x), edge)
        points[..., 0] += self.sweep_m(x)[..., None]
        return points

    def mirrored(self) -> Self:
        """The same propeller carved for the other hand."""
        return replace(self, hand=Hand.LEFT if self.hand is Hand.RIGHT else Hand.RIGHT)


def _within(name: str, value: float, accepted: tuple[float, float], unit: str) -> None:
    low, high = accepted
    if not low <= value <= high:
        raise ValueError(f"{name}: {value:g} given, accepted are {low:g} to {high:g} {unit}".rstrip())


def _counted(blades: int) -> None:
    if blades not in BLADE_COUNTS:
        raise ValueError(f"blades: {blades} given, accepted are 2, 3 or 4")


_ACCEPTED = {"r_R": (0.01, 1.0), "c_R": (0.0, 1.0), "t_c": (0.01, 1.0), "beta_deg": (-30.0, 89.0)}


def _check_table(table: dict[str, Array]) -> None:
    rows = table["r_R"].size
    if rows < 3:
        raise ValueError(f"r_R: {rows} stations given, at least 3 are needed")
    for name, column in table.items():
        if column.shape != (rows,):
            raise ValueError(f"{name}: {column.size} values given for {rows} stations")
        low, high = _ACCEPTED[name]
        wrong = np.flatnonzero(~((column >= low) & (column <= high)))
        if wrong.size:
            row = int(wrong[0])
            raise ValueError(
                f"{name}: row {row + 1}: {column[row]:g} given, accepted are {low:g} to {high:g}"
            )
    falling = np.flatnonzero(np.diff(table["r_R"]) <= 0)
    if falling.size:
        raise ValueError(f"r_R: row {int(falling[0]) + 2}: stations must rise from boss to tip")
