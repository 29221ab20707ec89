"""The bolted joint: crushing under the plate, friction against the engine's torque, and what torque to use."""

from collections.abc import Iterator

from quoting.propeller.checks.evidence import COMMON_PRACTICE, JUDGEMENT, Evidence, gravest, is_doubtful
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.joint import usual_torque

POUND_INCH = 0.1129848


def bolt_torque(evidence: Evidence) -> Iterator[Finding]:
    """The torque worked out, always with its caution."""
    joint = evidence.joint
    if joint.torque_recommended is None or joint.bolt_force is None:
        message = "Bolt torque was not worked out: the bolts of this pattern are not known."
        yield Finding("bolt-torque", Severity.NOT_CHECKED, "hub", None, None, "N m", message, JUDGEMENT)
        return
    most = "" if joint.torque_maximum is None else f", never more than {_torque(joint.torque_maximum)}"
    message = (
        f"From the wood alone we would tighten to {_torque(joint.torque_recommended)} a bolt{most}: with dry threads "
        f"(K {joint.nut_factor:.2f}) each bolt then pulls {joint.bolt_force / 1000:.1f} kN. {joint.caution}"
    )
    yield Finding(
        "bolt-torque",
        Severity.NOTE,
        "",
        joint.torque_recommended,
        joint.torque_maximum,
        "N m",
        message,
        JUDGEMENT,
    )


def _torque(value: float) -> str:
    return f"{value:.0f} N m ({value / POUND_INCH:.0f} lbf in)"


def crushing(evidence: Evidence) -> Iterator[Finding]:
    """Clamp pressure against the proportional limit across the grain."""
    joint, timber, boss = evidence.joint, evidence.specification.timber, evidence.boss
    if is_doubtful(timber.compression_perpendicular):
        message = (
            "Crushing under the bolts was not checked: strength across the grain is not published for "
            f"{timber.name.lower()}."
        )
        yield Finding(
            "clamp-crushing",
            Severity.NOT_CHECKED,
            "timber",
            None,
            None,
            "Pa",
            message,
            "Wood Handbook, imported woods",
        )
        return
    if (
        joint.pressure is None
        or joint.pressure_limit is None
        or boss.bolt is None
        or joint.torque_recommended is None
    ):
        message = (
            "Crushing under the bolts was not checked: bolts, holes or bore of this pattern are not known."
        )
        yield Finding("clamp-crushing", Severity.NOT_CHECKED, "hub", None, None, "Pa", message, JUDGEMENT)
        return
    assert timber.compression_perpendicular is not None
    source = timber.compression_perpendicular.source
    low, _ = usual_torque(boss.bolt)
    if joint.torque_recommended < low:
        message = (
            f"{timber.name} crushes across the grain at {joint.pressure_limit / 1e6:.1f} MPa, before the usual torque for "
            f"these bolts ({low:.0f} N m) is reached: it needs a larger plate or a harder wood."
        )
        yield Finding(
            "clamp-crushing",
            Severity.CAUTION,
            "timber",
            joint.pressure,
            joint.pressure_limit,
            "Pa",
            message,
            source,
        )
    else:
        message = (
            f"At that torque the plate presses {joint.pressure / 1e6:.1f} MPa on the wood; {timber.name.lower()} crushes "
            f"across the grain at {joint.pressure_limit / 1e6:.1f}."
        )
        yield Finding(
            "clamp-crushing", Severity.NOTE, "", joint.pressure, joint.pressure_limit, "Pa", message, source
        )
    if joint.pressure_lubricated is not None and joint.pressure_lubricated > joint.pressure_limit:
        message = (
            "With lubricated or plated threads the same torque presses a third harder and would crush the wood under "
            "the plate: use dry threads or less torque."
        )
        yield Finding(
            "clamp-lubricated",
            Severity.NOTE,
            "",
            joint.pressure_lubricated,
            joint.pressure_limit,
            "Pa",
            message,
            source,
        )


def torque_transfer(evidence: Evidence) -> Iterator[Finding]:
    """Friction against the firing peaks."""
    joint = evidence.joint
    if joint.mean_torque is None:
        message = "Torque transfer was not checked: the engine's power and rpm are not known."
        yield Finding(
            "torque-transfer", Severity.NOT_CHECKED, "engine", None, None, "N m", message, JUDGEMENT
        )
        return
    if joint.friction_torque is None or joint.margin is None:
        message = "Torque transfer was not checked: bolts, holes or bore of this pattern are not known."
        yield Finding("torque-transfer", Severity.NOT_CHECKED, "hub", None, None, "N m", message, JUDGEMENT)
        return
    if joint.margin < joint.peak_factor:
        message = (
            f"Clamped as we would, friction holds {joint.friction_torque:.0f} N m, {joint.margin:.1f} times the engine's "
            f"mean torque of {joint.mean_torque:.0f} N m; its firing peaks ask for {joint.peak_factor:g} times. "
            + (
                "The drive lugs must carry the rest."
                if evidence.boss.lug
                else "Drive lugs or a larger plate are needed."
            )
        )
        yield Finding(
            "torque-transfer",
            Severity.CAUTION,
            "hub",
            joint.margin,
            joint.peak_factor,
            "",
            message,
            JUDGEMENT,
        )
    else:
        message = (
            f"Friction holds {joint.friction_torque:.0f} N m, {joint.margin:.1f} times the engine's mean torque of "
            f"{joint.mean_torque:.0f} N m; its firing peaks ask for {joint.peak_factor:g} times."
        )
        yield Finding(
            "torque-transfer", Severity.NOTE, "", joint.margin, joint.peak_factor, "", message, JUDGEMENT
        )
    yield from _torque_limit(evidence)
    yield from _lugs(evidence)


def _torque_limit(evidence: Evidence) -> Iterator[Finding]:
    """The engine maker's greatest torque at the propeller."""
    engine, joint = evidence.specification.engine, evidence.joint
    limit = engine.torque_limit if engine is not None else None
    if engine is None or limit is None or is_doubtful(limit) or joint.mean_torque is None:
        return
    flown = evidence.performance
    torque = joint.mean_torque if flown is None else max(flight.torque for flight in flown.flights.values())
    if torque > 1.07 * limit.value:
        message = (
            f"The propeller would take {torque:.0f} N m from the gearbox of the {engine.name}; its maker allows "
            f"{limit.value:.0f} N m."
        )
        severity = gravest(limit, engine.rated_power, engine.rated_speed)
        yield Finding("engine-torque", severity, "pitch", torque, limit.value, "N m", message, limit.source)


def _lugs(evidence: Evidence) -> Iterator[Finding]:
    """Drive lugs pressing on their counterbores, were friction lost."""
    bearing, limit = evidence.joint.lug_bearing, evidence.joint.pressure_limit
    if bearing is not None and limit is not None and bearing > limit:
        message = (
            f"Were friction lost, the drive lugs would press {bearing / 1e6:.0f} MPa on the wood and crush it: the clamp "
            "must never be let go slack."
        )
        yield Finding("lug-bearing", Severity.NOTE, "", bearing, limit, "Pa", message, COMMON_PRACTICE)
