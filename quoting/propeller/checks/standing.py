"""Papers and sense: registration category, hand against the engine's rotation, position, pattern against engine, use."""

from collections.abc import Iterator

from quoting.propeller.catalogue import Category, Engine, Hand, Position, Rotation
from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Use

APPROVAL = "local rules: ask an inspector or a licensed mechanic"
UNSURE = "unsure"
MEMORY = "memory"


def category(evidence: Evidence) -> Iterator[Finding]:
    """Which propeller the aircraft's papers allow."""
    kind = evidence.specification.category
    if kind in (Category.TYPE_CERTIFICATED, Category.UNKNOWN):
        begin = (
            "This is a type-certificated aircraft"
            if kind is Category.TYPE_CERTIFICATED
            else "We do not know how this aircraft is registered"
        )
        message = (
            f"{begin}: only a propeller that its approved data allow may be fitted, and ours carries no approval. Ask your "
            "inspector or a licensed mechanic before you order."
        )
        yield Finding("registration", Severity.CAUTION, "category", None, None, "", message, APPROVAL)
    elif kind is Category.NOT_REGISTERED:
        return
    else:
        message = (
            "Fitting this propeller needs the agreement your registration asks for: show the drawing and the data sheet to "
            "your inspector or a licensed mechanic."
        )
        yield Finding("registration", Severity.NOTE, "category", None, None, "", message, APPROVAL)


def turning_hand(rotation: Rotation, position: Position) -> Hand:
    """The hand of the propeller that a flange turning so drives forward.

    Someone facing the flange of a tractor looks aft, so clockwise to him is anticlockwise from behind: left-hand.
    Facing the flange of a pusher he looks the way it flies.
    """
    clockwise = rotation is Rotation.CLOCKWISE
    if position is Position.TRACTOR:
        clockwise = not clockwise
    return Hand.RIGHT if clockwise else Hand.LEFT


def hand_of(engine: Engine, position: Position) -> Hand | None:
    """The hand the engine needs in that position, from its rotation or from what is said of it as a tractor."""
    if engine.rotation is not None:
        return turning_hand(engine.rotation, position)
    if engine.hand_as_tractor is None:
        return None
    if position is Position.TRACTOR:
        return engine.hand_as_tractor
    return Hand.LEFT if engine.hand_as_tractor is Hand.RIGHT else Hand.RIGHT


def hand(evidence: Evidence) -> Iterator[Finding]:
    """Hand wished against the engine's rotation: the wrong hand pushes backwards."""
    specification = evidence.specification
    engine, wished = specification.engine, specification.hand
    needed = None if engine is None else hand_of(engine, specification.position)
    doubtful = engine is not None and UNSURE in engine.hand_source.lower()
    if engine is None or needed is None or doubtful:
        message = (
            "Which way the engine turns is not known for certain: look at the flange while somebody turns it in its "
            f"running direction, and check that a {wished.value}-hand propeller is right."
        )
        yield Finding("hand", Severity.NOT_CHECKED, "hand", None, None, "", message, COMMON_PRACTICE)
        return
    if needed is not wished:
        trusted = MEMORY not in engine.hand_source.lower()
        message = (
            f"The {engine.name} as a {specification.position.value} needs a {needed.value}-hand propeller; you ask for a "
            f"{wished.value}-hand one, which would pull backwards. Gears and pusher mountings change the hand: look at the "
            "picture and at your engine."
        )
        yield Finding(
            "hand",
            Severity.STOP if trusted else Severity.CAUTION,
            "hand",
            None,
            None,
            "",
            message,
            engine.hand_source,
        )
    tractor = None if engine.rotation is None else turning_hand(engine.rotation, Position.TRACTOR)
    if tractor is not None and engine.hand_as_tractor is not None and tractor is not engine.hand_as_tractor:
        message = f"Our catalogue contradicts itself on the rotation of the {engine.name}: look at your engine and tell us."
        yield Finding(
            "hand-catalogue", Severity.CAUTION, "engine", None, None, "", message, engine.hand_source
        )


def position(evidence: Evidence) -> Iterator[Finding]:
    """Pusher or tractor against the airframe."""
    specification = evidence.specification
    frame = specification.airframe
    if frame is not None and frame.position is not specification.position:
        message = f"The {frame.name} has a {frame.position.value} propeller; you ask for a {specification.position.value}."
        yield Finding(
            "position", Severity.CAUTION, "position", None, None, "", message, "our catalogue of airframes"
        )


def engine_of_airframe(evidence: Evidence) -> Iterator[Finding]:
    """The engine against those usual for the airframe: speeds and usual sizes belong to them."""
    specification = evidence.specification
    frame, engine = specification.airframe, specification.engine
    if frame is None or engine is None or not frame.usual_engine_codes:
        return
    if engine.code in frame.usual_engine_codes:
        return
    named = " or ".join(frame.usual_engine_names) or "another engine"
    speed = (
        " The top speed in our catalogue belongs to that: give the one flown with yours."
        if specification.top_speed is None and frame.top_speed is not None
        else ""
    )
    message = (
        f"The {frame.name} usually flies with {named}; you chose {engine.name}: check both, for weight, mount and speed "
        f"differ.{speed}"
    )
    source = "our catalogue of airframes"
    yield Finding("engine-of-airframe", Severity.CAUTION, "engine", None, None, "", message, source)


def remark_of_airframe(evidence: Evidence) -> Iterator[Finding]:
    """What the catalogue remarks on the airframe."""
    frame = evidence.specification.airframe
    if frame is not None and frame.remark:
        message = f"{frame.name}: {frame.remark}"
        source = "our catalogue of airframes"
        yield Finding("airframe-remark", Severity.NOTE, "", None, None, "", message, source)


def height(evidence: Evidence) -> Iterator[Finding]:
    """Where the checks were made when the performance shown is for another height."""
    if evidence.high is None:
        return
    message = (
        "Speeds and thrust are shown for your usual height of flight; rpm, torque and stress are checked at sea level, "
        "where the engine is strongest."
    )
    yield Finding("checked-at-sea-level", Severity.NOTE, "", None, None, "", message, "the shop's rule")


def hub_of_engine(evidence: Evidence) -> Iterator[Finding]:
    """The pattern against those known for the engine."""
    specification = evidence.specification
    engine, hub = specification.engine, specification.hub
    if engine is not None and engine.hub_codes and hub.code not in engine.hub_codes:
        message = f"{hub.name} is not among the patterns we know for the {engine.name}: measure your flange."
        yield Finding(
            "hub-of-engine", Severity.CAUTION, "hub", None, None, "", message, "our catalogue of engines"
        )


def use(evidence: Evidence) -> Iterator[Finding]:
    """Display pieces carry their warning; flying ones the reminder that nothing here is an approval."""
    if evidence.specification.use is Use.DISPLAY:
        message = "A display piece: it is stamped NOT FOR FLIGHT and must never be fitted to an engine."
        yield Finding("not-for-flight", Severity.CAUTION, "use", None, None, "", message, "the shop's rule")
        return
    message = (
        "These figures are computed checks and no approval. The engine's and airframe's approved data, local rules and a "
        "licensed mechanic have the last word."
    )
    yield Finding("no-approval", Severity.NOTE, "", None, None, "", message, "the shop's rule")
