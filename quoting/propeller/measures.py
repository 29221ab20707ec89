"""What the price and the minutes need to know of the geometry: one frozen row of numbers, SI units."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Measures:
    """Numbers taken from one propeller's geometry; m, m2, m3, kg. Nothing here is looked up by diameter.

    `board_feet` is the net take-off (laminations as cut, before planing and defect allowance);
    `wood_removed` is blank minus finished volume; `boss_width_ratio` is boss diameter over the widest
    root chord, `boss_thickness` the wood between the flange and the plate.
    """

    diameter: float
    pitch: float
    blades: int
    boss_diameter: float
    boss_thickness: float
    boss_width_ratio: float
    blade_surface: float
    finished_volume: float
    blank_volume: float
    wood_removed: float
    laminations: int
    board_feet: float
    glue_area: float
    guard_length: float
    bolt_holes: int
    bolt_circle: float
    lug_counterbores: int
    mass: float
    crate_length: float
    crate_width: float
    crate_height: float
