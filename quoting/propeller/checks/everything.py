"""All checks in the order a reader wants them."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from quoting.propeller.checks import boss, clamping, running, size, standing, strength, wood
from quoting.propeller.checks.evidence import Evidence
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Use

PAPERS: tuple[Callable[[Evidence], Iterator[Finding]], ...] = (standing.use, standing.category)
ENGINEERING: tuple[Callable[[Evidence], Iterator[Finding]], ...] = (
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


def check(evidence: Evidence) -> tuple[Finding, ...]:
    """Every finding on one propeller, gravest first and otherwise in the order of the checks.

    A display piece never flies: its engineering findings are kept, as notes.
    """
    papers = [finding for look in PAPERS for finding in look(evidence)]
    found = [finding for look in ENGINEERING for finding in look(evidence)]
    if evidence.specification.use is Use.DISPLAY:
        papers = papers[:1]
        found = [replace(finding, severity=Severity.NOTE) for finding in found]
    return tuple(sorted([*papers, *found], key=lambda finding: -finding.severity.rank))
