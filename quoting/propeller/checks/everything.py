"""All checks in the order a reader wants them."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from quoting.propeller.checks import boss, clamping, running, size, standing, strength, wall, wood
from quoting.propeller.checks.evidence import Evidence
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Use

FLYING: tuple[Callable[[Evidence], Iterator[Finding]], ...] = (
    standing.use,
    standing.category,
    standing.engine_of_airframe,
    wood.timber_suitable,
    wood.glue_and_finish,
    standing.hand,
    standing.position,
    standing.hub_of_engine,
    standing.remark_of_airframe,
    standing.height,
    size.experience,
    size.airframe_limits,
    size.usual_diameter,
    size.ground_clearance,
    size.structure_clearance,
    running.tip_speed,
    running.static_rpm,
    running.over_rev,
    running.power_match,
    wood.moisture,
    wood.boss_movement,
    wood.layers,
    strength.stress,
    strength.width,
    strength.arms,
    strength.inertia,
    strength.weight,
    boss.completeness,
    boss.edge_wood,
    boss.blade_depth,
    boss.depths,
    boss.bolt_length,
    boss.face_plate,
    boss.spinner,
    boss.clocking,
    boss.look_alike,
    clamping.bolt_torque,
    clamping.crushing,
    clamping.torque_transfer,
)
ON_A_WALL: tuple[Callable[[Evidence], Iterator[Finding]], ...] = (
    standing.use,
    wall.hanging,
    wall.season,
    wall.timber,
    wall.edges,
    wood.layers,
    boss.completeness,
    boss.edge_wood,
    boss.blade_depth,
    boss.face_plate,
    boss.spinner,
)


def check(evidence: Evidence) -> tuple[Finding, ...]:
    """Every finding on one propeller, gravest first and otherwise in the order of the checks.

    A display piece never turns: only what matters on a wall and in making it is looked at, and nothing of it stops.
    """
    display = evidence.specification.use is Use.DISPLAY
    found = [finding for look in (ON_A_WALL if display else FLYING) for finding in look(evidence)]
    if display:
        found = [_not_stopping(finding) for finding in found]
    return tuple(sorted(found, key=lambda finding: -finding.severity.rank))


def _not_stopping(finding: Finding) -> Finding:
    return replace(finding, severity=Severity.CAUTION) if finding.severity is Severity.STOP else finding
