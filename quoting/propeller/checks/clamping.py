"""The bolted joint: crushing under the faces, friction and lugs against the engine's torque, and what torque to use."""

from collections.abc import Iterator

from quoting.propeller.checks import words
from quoting.propeller.checks.evidence import COMMON_PRACTICE, JUDGEMENT, Evidence, gravest, is_doubtful
from quoting.propeller.figure import known
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.joint import NUT_FACTOR, NUT_FACTOR_LUBRICATED, usual_torque

WITHIN_BAND = 1.07
"""Torque over the maker's limit that the band of the computed power still covers."""


def bolt_torque(evidence: Evidence) -> Iterator[Finding]:
    """The torque worked out, always with its caution; a usual figure is told as such and as not checked."""
    joint, boss, units = evidence.joint, evidence.boss, evidence.units
    if joint.torque_recommended is None or joint.bolt_force is None or boss.bolt is None:
        message = "Bolt torque was not worked out: the bolts of this pattern are not known."
        yield Finding("bolt-torque", Severity.NOT_CHECKED, "hub", None, None, "N m", message, JUDGEMENT)
        return
    if joint.torque_plated is None or joint.torque_maximum is None or joint.torque_maximum_dry is None:
        low, high = (words.bolt_torque(torque, units) for torque in usual_torque(boss.bolt))
        unknown = (
            f"what {evidence.specification.timber.name.lower()} bears across the grain is not published"
            if joint.pressure_limit is None
            else "the faces that press on it are not known"
        )
        message = (
            f"Usual for bolts of this size in a wooden boss is {low} to {high}; whether this wood bears it was not "
            f"checked, for {unknown}: begin at the low end. {joint.caution}"
        )
        yield Finding(
            "bolt-torque",
            Severity.NOT_CHECKED,
            "timber" if joint.pressure_limit is None else "hub",
            None,
            None,
            "N m",
            message,
            COMMON_PRACTICE,
        )
        return
    plated, dry = (words.bolt_torque(t, units) for t in (joint.torque_plated, joint.torque_recommended))
    most, most_dry = (words.bolt_torque(t, units) for t in (joint.torque_maximum, joint.torque_maximum_dry))
    faces = "" if joint.flange_known else ", looking at the front plate alone"
    message = (
        f"From the wood alone{faces}, we would tighten cadmium-plated bolts, as AN bolts are, or oiled ones to {plated} "
        f"each (K {NUT_FACTOR_LUBRICATED:.2f}), never more than {most}; dry plain ones to {dry} (K {joint.nut_factor:.2f}), "
        f"never more than {most_dry}: either way each pulls {words.pull(joint.bolt_force, units)}. {joint.caution}"
    )
    yield Finding(
        "bolt-torque",
        Severity.NOTE,
        "",
        joint.torque_plated,
        joint.torque_maximum,
        "N m",
        message,
        JUDGEMENT,
    )


def crushing(evidence: Evidence) -> Iterator[Finding]:
    """Clamp pressure under flange and front plate against the proportional limit across the grain."""
    joint, timber, boss = evidence.joint, evidence.specification.timber, evidence.boss
    units = evidence.units
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
        or joint.torque_maximum_dry is None
    ):
        message = (
            "Crushing under the bolts was not checked: bolts, holes or bore of this pattern are not known."
        )
        yield Finding("clamp-crushing", Severity.NOT_CHECKED, "hub", None, None, "Pa", message, JUDGEMENT)
        return
    assert timber.compression_perpendicular is not None
    source = timber.compression_perpendicular.source
    low, _ = usual_torque(boss.bolt)
    limit = words.stress(joint.pressure_limit, units)
    if joint.torque_maximum_dry < low:
        message = (
            f"{timber.name} crushes across the grain at {limit}, before the usual torque for "
            f"these bolts ({words.bolt_torque(low, units)}) is reached: it needs a larger plate or a harder wood."
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
    elif joint.flange_known:
        message = (
            f"Clamped as we would, the faces press up to {words.stress(joint.pressure, units)} on the wood; "
            f"{timber.name.lower()} crushes across the grain at {words.bare_stress(joint.pressure_limit, units)}."
        )
        yield Finding(
            "clamp-crushing", Severity.NOTE, "", joint.pressure, joint.pressure_limit, "Pa", message, source
        )
    if not joint.flange_known:
        message = (
            "Crushing under the engine's flange was not checked: the diameter of the flange is not known. Measure it; "
            f"under the front plate it is {words.stress(joint.pressure, units)} of the {limit} that crush the wood."
        )
        yield Finding(
            "clamp-crushing-flange",
            Severity.NOT_CHECKED,
            "hub",
            joint.pressure,
            joint.pressure_limit,
            "Pa",
            message,
            source,
        )
    yield from _mistaken_threads(evidence, source)


def _mistaken_threads(evidence: Evidence, source: str) -> Iterator[Finding]:
    """What the torque for dry threads does to the wood on plated or oiled ones."""
    joint, units = evidence.joint, evidence.units
    if joint.pressure_mistaken is None or joint.pressure_limit is None or joint.torque_maximum is None:
        return
    if joint.pressure_mistaken <= joint.pressure_limit:
        return
    message = (
        "Cadmium-plated bolts, as AN bolts are, and oiled threads pull a third harder than dry plain ones: more than "
        f"{words.bolt_torque(joint.torque_maximum, units)} on them crushes this wood. Know your threads before you tighten."
    )
    yield Finding(
        "clamp-lubricated",
        Severity.CAUTION,
        "timber",
        joint.pressure_mistaken,
        joint.pressure_limit,
        "Pa",
        message,
        f"{source}; K {NUT_FACTOR:.2f} and {NUT_FACTOR_LUBRICATED:.2f} from memory of machine-design texts",
    )


def torque_transfer(evidence: Evidence) -> Iterator[Finding]:
    """Friction, and what it lacks on the drive lugs, against the firing peaks."""
    joint, units = evidence.joint, evidence.units
    if joint.mean_torque is None:
        message = "Torque transfer was not checked: the engine's power and rpm are not known."
        yield Finding(
            "torque-transfer", Severity.NOT_CHECKED, "engine", None, None, "N m", message, JUDGEMENT
        )
        return
    if joint.friction_torque is None or joint.margin is None:
        message = "Torque transfer was not checked: bolts, holes or bore of this pattern are not known."
        yield Finding("torque-transfer", Severity.NOT_CHECKED, "hub", None, None, "N m", message, JUDGEMENT)
        yield from torque_limit(evidence)
        return
    held = (
        f"Clamped as we would, friction holds {words.engine_torque(joint.friction_torque, units)}, "
        f"{words.apart(joint.margin, joint.peak_factor, 1)} times the engine's mean torque of "
        f"{words.engine_torque(joint.mean_torque, units)}; its firing peaks ask for {joint.peak_factor:g} times"
    )
    severity, field, rest = _carried(evidence)
    yield Finding(
        "torque-transfer",
        severity,
        field,
        joint.margin,
        joint.peak_factor,
        "",
        f"{held}{rest}",
        JUDGEMENT,
    )
    yield from torque_limit(evidence)
    yield from _lugs(evidence)


def _carried(evidence: Evidence) -> tuple[Severity, str, str]:
    """How grave it is that friction holds what it holds, the field that mends it, and the words after it."""
    joint, units = evidence.joint, evidence.units
    assert joint.margin is not None
    share, limit = joint.lug_share, joint.pressure_limit
    if joint.margin >= joint.peak_factor:
        if joint.torque_plated is None:
            return Severity.NOT_CHECKED, "timber", ". Whether this wood bears the clamp was not checked."
        return Severity.NOTE, "", "."
    if share is None or limit is None:
        carrier = (
            "Drive lugs or a larger plate are needed"
            if share is None
            else "The drive lugs must carry the rest"
        )
        return Severity.CAUTION, "hub", f". {carrier}."
    pressed, bears = words.stress(share, units), words.bare_stress(limit, units)
    if share <= limit:
        return (
            Severity.NOTE,
            "",
            f", and the drive lugs carry the rest at {pressed} of the {bears} the wood bears.",
        )
    return (
        Severity.CAUTION,
        "hub",
        f". The drive lugs would have to press {pressed} for the rest where the wood bears {bears}: a harder wood, a "
        "larger plate or deeper lugs are needed.",
    )


def torque_limit(evidence: Evidence) -> Iterator[Finding]:
    """The engine maker's greatest torque at the propeller, at sea level where the engine gives most."""
    engine, joint, units = evidence.specification.engine, evidence.joint, evidence.units
    if engine is None or joint.mean_torque is None:
        return
    limit = engine.torque_limit
    flown = evidence.performance
    torque = joint.mean_torque if flown is None else max(flight.torque for flight in flown.flights.values())
    takes = f"The propeller takes up to {words.engine_torque(torque, units)}"
    if limit is None or is_doubtful(limit):
        if (known(engine.gear_ratio) or 1.0) != 1.0:
            message = f"{takes}; it was not checked: no limit of the gearbox is known. Ask its maker."
            yield Finding(
                "engine-torque", Severity.NOT_CHECKED, "engine", torque, None, "N m", message, COMMON_PRACTICE
            )
        return
    allowed = words.engine_torque(limit.value, units)
    severity, field = Severity.NOTE, ""
    if torque > WITHIN_BAND * limit.value:
        severity, field = gravest(limit, engine.rated_power, engine.rated_speed), "pitch"
        message = f"{takes} from the gearbox of the {engine.name}; its maker allows {allowed}."
    elif torque > limit.value:
        severity, field = Severity.CAUTION, "pitch"
        message = (
            f"{takes} from the gearbox of the {engine.name}, a little over the {allowed} its maker allows and within the "
            "uncertainty of the figure: less pitch takes less."
        )
    else:
        message = f"{takes} from the gearbox of the {engine.name}; its maker allows {allowed}."
    yield Finding("engine-torque", severity, field, torque, limit.value, "N m", message, limit.source)


def _lugs(evidence: Evidence) -> Iterator[Finding]:
    """Drive lugs pressing on their counterbores, were friction lost."""
    bearing, limit = evidence.joint.lug_bearing, evidence.joint.pressure_limit
    if bearing is not None and limit is not None and bearing > limit:
        message = (
            f"Were friction lost, the drive lugs would press {words.stress(bearing, evidence.units)} on the wood and "
            "crush it: the clamp must never be let go slack."
        )
        yield Finding("lug-bearing", Severity.NOTE, "", bearing, limit, "Pa", message, COMMON_PRACTICE)
