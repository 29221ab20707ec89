"""How it runs: tip speed, rpm standing and in level flight and in the dive, and whether it fits the engine's power."""

from collections.abc import Iterator

from quoting.propeller.checks import words
from quoting.propeller.checks.evidence import (
    COMMON_PRACTICE,
    JUDGEMENT,
    Evidence,
    binds_metal,
    gravest,
    is_doubtful,
)
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.matching import Flight
from quoting.propeller.recommend import TIP_MACH, TIP_MACH_QUIET, TIP_SPEED

FEET = 0.3048
MACH_USUAL = TIP_MACH
MACH_QUIET = TIP_MACH_QUIET
MACH_GREATEST = 0.88
TIP_SPEED_USUAL = 850 * FEET
TIP_SPEED_GREATEST = TIP_SPEED
LEVEL_OVER_RATED = 1.08
OVER_RATED = 1.10
UNDER_RATED = 0.92
STATIC_LEAST = 0.75
STATIC_HOPELESS = 0.65
"""Static rpm over rated. The lowest permitted for the type-certificated combinations we compare with is 0.79 of rated
(type certificates A-691, A-720, 5A2); at 0.65 the engine gives two thirds of its power."""
STATIC_SOURCE = "static rpm of type-certificated combinations is 0.79 of rated or more (A-691, A-720, 5A2)"
SPEED_RULE = (
    "14 CFR 23.33(b) as it stood before 2017: rated rpm in the climb, 110 % in a closed-throttle glide"
)


def tip_speed(evidence: Evidence) -> Iterator[Finding]:
    """Helical Mach at the fastest flight, and tip speed in ft/s."""
    flown = evidence.performance
    if flown is None:
        if evidence.unmatched is not None and evidence.unmatched.code == "tip-mach":
            return
        message = f"Tip speed was not checked: {evidence.not_run}."
        yield Finding("tip-mach", Severity.NOT_CHECKED, "engine", None, None, "", message, JUDGEMENT)
        return
    flights = [*flown.flights.values(), *(evidence.high.flights.values() if evidence.high else ())]
    yield from _mach(evidence, max(flights, key=lambda flight: flight.tip_mach))
    fastest = max(flights, key=lambda flight: flight.tip_speed)
    if fastest.tip_speed > TIP_SPEED_USUAL:
        hard = fastest.tip_speed > TIP_SPEED_GREATEST
        message = (
            f"The tips run at {words.tip_speed(fastest.tip_speed, evidence.units)} at {fastest.rpm:.0f} rpm; "
            + (
                f"wooden tips are kept below about {words.tip_speed(TIP_SPEED_GREATEST, evidence.units)}."
                if hard
                else f"up to about {words.tip_speed(TIP_SPEED_USUAL, evidence.units)} is usual at full rpm."
            )
        )
        limit = TIP_SPEED_GREATEST if hard else TIP_SPEED_USUAL
        severity = Severity.CAUTION if hard else Severity.NOTE
        yield Finding(
            "tip-speed", severity, "diameter", fastest.tip_speed, limit, "m/s", message, COMMON_PRACTICE
        )


def _mach(evidence: Evidence, fastest: Flight) -> Iterator[Finding]:
    mach = fastest.tip_mach
    limit = MACH_QUIET if evidence.specification.quiet else MACH_USUAL
    at = f"at {fastest.rpm:.0f} rpm and {words.speed(fastest.airspeed, evidence.units)}"
    if mach >= 1:
        engine = evidence.specification.engine
        trusted = gravest(engine.rated_power, engine.rated_speed) if engine else Severity.CAUTION
        message = (
            f"The tips would pass the speed of sound (Mach {mach:.2f} {at}): a smaller diameter is needed."
        )
        yield Finding(
            "tip-mach", trusted, "diameter", mach, 1.0, "Mach", message, "computed in the standard atmosphere"
        )
    elif mach > limit:
        wish = "for the quiet propeller you wish" if evidence.specification.quiet else "for a wooden tip"
        grave = " It loses much of its efficiency there." if mach > MACH_GREATEST else ""
        message = f"The tips reach Mach {words.apart(mach, limit, 2)} {at}; up to {limit:.2f} is usual {wish}.{grave}"
        yield Finding("tip-mach", Severity.CAUTION, "diameter", mach, limit, "Mach", message, JUDGEMENT)
    else:
        message = f"The tips reach Mach {mach:.2f} {at}, within the usual {limit:.2f}."
        yield Finding("tip-mach", Severity.NOTE, "", mach, limit, "Mach", message, JUDGEMENT)


def static_rpm(evidence: Evidence) -> Iterator[Finding]:
    """Standing at full throttle: not over rated rpm, nor so slow that the engine cannot give its power."""
    flown, rated = evidence.performance, evidence.rated_speed
    engine = evidence.specification.engine
    if flown is None or rated is None or engine is None:
        message = f"Static rpm was not checked: {evidence.not_run}."
        yield Finding("static-rpm", Severity.NOT_CHECKED, "engine", None, None, "rpm", message, JUDGEMENT)
        return
    static, most = flown.static, rated * evidence.greatest_share
    called = _called(evidence)
    if static.speed > most:
        certain = static.speed_band.low > most
        severity = gravest(engine.rated_power, evidence.greatest_speed) if certain else Severity.CAUTION
        message = (
            f"Standing at full throttle the engine would turn this propeller at {static.rpm:.0f} rpm, over the {called} "
            f"{60 * most:.0f}: it needs more pitch or diameter."
        )
        yield Finding(
            "static-rpm",
            severity,
            "pitch",
            static.rpm,
            60 * most,
            "rpm",
            message,
            evidence.greatest_speed.source if evidence.greatest_speed else SPEED_RULE,
        )
    elif static.speed < STATIC_LEAST * rated:
        hopeless = static.speed_band.high < STATIC_HOPELESS * rated
        severity = gravest(engine.rated_power, engine.rated_speed) if hopeless else Severity.CAUTION
        message = (
            f"Standing at full throttle it turns only {static.rpm:.0f} rpm of the rated {60 * rated:.0f}: "
            + ("the engine cannot give its power" if hopeless else "take-off would be weak")
            + "; it needs less pitch or diameter."
        )
        yield Finding(
            "static-rpm",
            severity,
            "pitch",
            static.rpm,
            60 * (STATIC_HOPELESS if hopeless else STATIC_LEAST) * rated,
            "rpm",
            message,
            STATIC_SOURCE if hopeless else JUDGEMENT,
        )
    else:
        low, high = (60 * edge for edge in (static.speed_band.low, static.speed_band.high))
        message = (
            f"Standing at full throttle we expect {static.rpm:.0f} rpm ({low:.0f} to {high:.0f}), "
            f"under the {called} {60 * most:.0f}."
        )
        yield Finding("static-rpm", Severity.NOTE, "", static.rpm, 60 * most, "rpm", message, JUDGEMENT)
    yield from _static_band(evidence)


def _called(evidence: Evidence) -> str:
    return "take-off" if evidence.greatest_share > 1 else "rated"


def _static_band(evidence: Evidence) -> Iterator[Finding]:
    """The airframe's published static rpm range, where it was published for this engine."""
    frame, engine, flown = (
        evidence.specification.airframe,
        evidence.specification.engine,
        evidence.performance,
    )
    if frame is None or engine is None or flown is None or engine.code not in frame.usual_engine_codes:
        return
    least, most, static = frame.static_speed_min, frame.static_speed_max, flown.static
    if least is None or most is None or is_doubtful(least, most):
        return
    if least.value <= static.speed <= most.value:
        return
    outside = static.speed_band.high < least.value or static.speed_band.low > most.value
    message = (
        f"Standing at full throttle we expect {static.rpm:.0f} rpm; the data of the {frame.name} give "
        f"{60 * least.value:.0f} to {60 * most.value:.0f} "
        f"rpm{' for a metal propeller' if binds_metal(least, most) else ''}."
    )
    limit = 60 * (most.value if static.speed > most.value else least.value)
    certain = outside and not binds_metal(least, most)
    severity = gravest(least, most, engine.rated_power, engine.rated_speed) if certain else Severity.CAUTION
    yield Finding("static-band", severity, "pitch", static.rpm, limit, "rpm", message, most.source)


def over_rev(evidence: Evidence) -> Iterator[Finding]:
    """Full throttle in the climb and in level flight, and the closed-throttle dive."""
    flown, rated, engine = evidence.performance, evidence.rated_speed, evidence.specification.engine
    if flown is None or rated is None or engine is None:
        message = f"Over-revving in level flight was not checked: {evidence.not_run}."
        yield Finding(
            "over-rev-level", Severity.NOT_CHECKED, "engine", None, None, "rpm", message, SPEED_RULE
        )
        return
    top = flown.top
    if top is None:
        message = "Over-revving in level flight was not checked: give the top speed."
        yield Finding(
            "over-rev-level", Severity.NOT_CHECKED, "top_speed", None, None, "rpm", message, SPEED_RULE
        )
    elif top.speed > LEVEL_OVER_RATED * rated:
        certain = top.speed_band.low > OVER_RATED * rated
        severity = gravest(engine.rated_power, engine.rated_speed) if certain else Severity.CAUTION
        message = (
            f"At full throttle and {words.speed(top.airspeed, evidence.units)} it turns {top.rpm:.0f} rpm, "
            f"{top.speed / rated - 1:.0%} "
            f"over the rated {60 * rated:.0f}: the throttle must be watched, or the pitch be raised."
        )
        yield Finding(
            "over-rev-level",
            severity,
            "pitch",
            top.rpm,
            60 * LEVEL_OVER_RATED * rated,
            "rpm",
            message,
            SPEED_RULE,
        )
    else:
        at = f"At full throttle and {words.speed(top.airspeed, evidence.units)}"
        message = f"{at} it turns {top.rpm:.0f} rpm of a rated {60 * rated:.0f}."
        limit = 60 * LEVEL_OVER_RATED * rated
        yield Finding("over-rev-level", Severity.NOTE, "", top.rpm, limit, "rpm", message, SPEED_RULE)
    most = rated * evidence.greatest_share
    if flown.climb is not None and flown.climb.speed > most:
        message = (
            f"In the climb at full throttle it turns {flown.climb.rpm:.0f} rpm, over the {_called(evidence)} "
            f"{60 * most:.0f}."
        )
        yield Finding(
            "over-rev-climb",
            Severity.CAUTION,
            "pitch",
            flown.climb.rpm,
            60 * most,
            "rpm",
            message,
            SPEED_RULE,
        )
    if flown.dive_shaft_speed is not None and flown.dive_shaft_speed > OVER_RATED * rated:
        message = (
            f"With the throttle closed at never-exceed speed the air drives it at about "
            f"{60 * flown.dive_shaft_speed:.0f} "
            f"rpm; 110 % of rated is {60 * OVER_RATED * rated:.0f}."
        )
        yield Finding(
            "over-rev-dive",
            Severity.CAUTION,
            "pitch",
            60 * flown.dive_shaft_speed,
            60 * OVER_RATED * rated,
            "rpm",
            message,
            SPEED_RULE,
        )


def power_match(evidence: Evidence) -> Iterator[Finding]:
    """Whether engine and propeller run together, and the engine gets to its rated rpm, so its power, at top speed."""
    flown, rated, engine = evidence.performance, evidence.rated_speed, evidence.specification.engine
    if evidence.unmatched is not None and engine is not None:
        wrong = evidence.unmatched
        severity = gravest(engine.rated_power, engine.rated_speed)
        source = "computed from the engine's rating in the standard atmosphere"
        yield Finding(
            wrong.code,
            severity,
            wrong.field,
            wrong.figure,
            wrong.limit,
            wrong.unit,
            f"{wrong.message}.",
            source,
        )
        return
    if flown is None or rated is None or flown.top is None:
        reason = evidence.not_run if flown is None else "give the top speed"
        field = "engine" if flown is None else "top_speed"
        message = f"Whether the engine gets to its full power in flight was not checked: {reason}."
        yield Finding("power-mismatch", Severity.NOT_CHECKED, field, None, None, "rpm", message, JUDGEMENT)
        return
    top = flown.top
    if top.speed < UNDER_RATED * rated:
        message = (
            f"At top speed the engine is held to {top.rpm:.0f} rpm of its rated {60 * rated:.0f} and cannot give its "
            "full power: the propeller is too large or too coarse for it."
        )
        yield Finding(
            "power-mismatch",
            Severity.CAUTION,
            "pitch",
            top.rpm,
            60 * UNDER_RATED * rated,
            "rpm",
            message,
            JUDGEMENT,
        )
    else:
        message = f"At top speed the engine gets to {top.rpm:.0f} rpm of its rated {60 * rated:.0f}."
        limit = 60 * UNDER_RATED * rated
        yield Finding("power-mismatch", Severity.NOTE, "", top.rpm, limit, "rpm", message, JUDGEMENT)
    if flown.level_speed is not None and flown.level_speed < 0.93 * top.airspeed:
        message = (
            f"With this propeller we expect about {words.speed(flown.level_speed, evidence.units)} at full "
            f"throttle in level flight, "
            f"less than the top speed of {words.speed(top.airspeed, evidence.units)} you gave."
        )
        yield Finding(
            "power-mismatch-speed",
            Severity.CAUTION,
            "pitch",
            flown.level_speed,
            top.airspeed,
            "m/s",
            message,
            JUDGEMENT,
        )
