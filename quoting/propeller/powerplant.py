"""Engine and airframe as the propeller feels them: power at the shaft, airspeeds, and how much air the body takes."""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from quoting.propeller.atmosphere import SEA_LEVEL, Air, power_fraction
from quoting.propeller.catalogue import Airframe, Engine, Position
from quoting.propeller.figure import known

Array = NDArray[np.float64]

TORQUE_RISE = 0.15
"""k in the default full-throttle law P = Pr s (1 + k (1 - s)), s = n / rated: judgement, published curves lie
between -0.2 and +0.5, which moves static rpm by about 1 %."""
WAKE = {Position.TRACTOR: 0.06, Position.PUSHER: 0.12}
"""Fraction of the airspeed a cowl takes off at the disc: judgement, no source."""
REFERENCE_EFFICIENCY = 0.82
_POWERS = (100.0, 2.0e6)
_SPEEDS = (2.0, 500.0)


@dataclass(frozen=True, slots=True)
class Powerplant:
    """Full throttle at the propeller shaft: rated `power` W at sea level, rated `speed` rev/s of the PROPELLER.

    `curve` holds (fraction of rated speed, fraction of rated power) points, rising; empty for the default law.
    Between the points torque is interpolated, beyond them it is held. `greatest` is the propeller speed not to be
    passed standing and climbing, rev/s: the take-off speed where the engine has one, 0 for the rated one.
    """

    power: float
    speed: float
    curve: tuple[tuple[float, float], ...] = ()
    greatest: float = 0.0

    def __post_init__(self) -> None:
        if not _POWERS[0] <= self.power <= _POWERS[1]:
            raise ValueError(f"engine: rated power {self.power:g} W, accepted are 100 W to 2 MW")
        if not _SPEEDS[0] <= self.speed <= _SPEEDS[1]:
            raise ValueError(
                f"engine: {self.speed * 60:g} rpm at the propeller, accepted are 120 to 30 000 rpm"
            )
        points = np.asarray(self.curve, dtype=float).reshape(-1, 2)
        if not (np.isfinite(points).all() and (points > 0).all() and (np.diff(points[:, 0]) > 0).all()):
            raise ValueError("engine: power curve needs positive points with rising speed")

    @classmethod
    def from_engine(cls, engine: Engine) -> Self:
        """The catalogue's engine behind its gear. Raises ValueError when no rating is known."""
        power, speed = known(engine.rated_power), known(engine.rated_speed)
        ratio = 1.0 if engine.gear_ratio is None else known(engine.gear_ratio)
        if power is None or speed is None or ratio is None:
            raise ValueError(f"engine: no rated power and speed are known for {engine.name}")
        if not 0.2 <= ratio <= 10:
            raise ValueError(f"engine: gear ratio {ratio:g}, accepted are 0.2 to 10")
        return cls(power, speed / ratio, engine.power_curve, (known(engine.takeoff_speed) or speed) / ratio)

    @property
    def most(self) -> float:
        """The propeller speed not to be passed standing and climbing, rev/s."""
        return max(self.greatest, self.speed)

    def available(self, speed: ArrayLike, air: Air = SEA_LEVEL) -> Array:
        """Full-throttle power in W at propeller speeds in rev/s, in `air`."""
        s = np.asarray(speed, dtype=float) / self.speed
        if self.curve:
            points = np.asarray(self.curve)
            torque = np.interp(s, points[:, 0], points[:, 1] / points[:, 0])
        else:
            torque = np.maximum(1 + TORQUE_RISE * (1 - s), 0.05)
        return np.asarray(self.power * power_fraction(air) * s * torque)


@dataclass(frozen=True, slots=True)
class Speeds:
    """Airspeeds in m/s, None where unknown: level top and cruise, best climb, stall and never-exceed."""

    top: float | None = None
    cruise: float | None = None
    climb: float | None = None
    stall: float | None = None
    never_exceed: float | None = None

    def __post_init__(self) -> None:
        for name in ("top", "cruise", "climb", "stall", "never_exceed"):
            speed = getattr(self, name)
            if speed is not None and not 5 <= speed <= 300:
                raise ValueError(f"{name}_speed: {speed:g} m/s given, accepted are 5 to 300 m/s")
        if self.top is not None:
            for name in ("cruise", "climb", "stall"):
                slower = getattr(self, name)
                if slower is not None and slower > self.top:
                    raise ValueError(f"top_speed: {self.top:g} m/s is below {name} speed {slower:g} m/s")

    @classmethod
    def of(cls, airframe: Airframe | None, *, top: float | None = None, cruise: float | None = None) -> Self:
        """The airframe's published speeds; the customer's own `top` and `cruise` go before them."""
        if airframe is None:
            return cls(top=top, cruise=cruise)
        return cls(
            top=top if top is not None else known(airframe.top_speed),
            cruise=cruise if cruise is not None else known(airframe.cruise_speed),
            climb=known(airframe.climb_speed),
            stall=known(airframe.stall_speed),
            never_exceed=known(airframe.never_exceed_speed),
        )

    @property
    def take_off(self) -> float | None:
        """Mean speed of the ground run, 0.7 of a lift-off at 1.2 times the stall (textbook rule, from memory)."""
        return None if self.stall is None else 0.7 * 1.2 * self.stall

    def best_climb(self) -> float | None:
        """Climb speed, or half the top speed where none is known (judgement)."""
        if self.climb is not None:
            return self.climb
        return None if self.top is None else 0.55 * self.top


def drag_area(powerplant: Powerplant, top: float) -> float:
    """C_D A in m2 of an airframe that reaches `top` m/s at sea level on rated power at an efficiency of 0.82."""
    return REFERENCE_EFFICIENCY * powerplant.power / (0.5 * SEA_LEVEL.density * top**3)
