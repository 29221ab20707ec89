"""What a quote was answered on without the customer having said it: each with its question and what an answer types."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from quoting.propeller.catalogue import Hand, HubPattern
from quoting.propeller.drawing.lettering import hand_words
from quoting.propeller.figure import Figure, Trust
from quoting.propeller.finding import Finding
from quoting.propeller.specification import Specification, Use

HAND, HUB, HOLES, TIMBER = "hand", "hub", "holes", "timber"
MEASURED = ("bolts", "circle", "hole", "pilot")


@dataclass(frozen=True, slots=True)
class Assumption:
    """One open question. `assumed` is what the quote took, "" where nothing could be taken.

    `as_typed` are the ask page's fields that say the assumption is right, `otherwise` those of the one other answer
    there is, and `fields` the names of the fields that take any other answer. `help` says how to find out.
    """

    key: str
    question: str
    assumed: str
    as_typed: Mapping[str, str] = field(default_factory=dict)
    otherwise: Mapping[str, str] = field(default_factory=dict)
    fields: tuple[str, ...] = ()
    help: str = ""


def assumptions(specification: Specification, findings: Iterable[Finding]) -> tuple[Assumption, ...]:
    """The open questions behind a quote, from its specification and its findings; none for what only hangs on a wall."""
    if specification.use is Use.DISPLAY:
        return ()
    codes = {finding.code for finding in findings}
    found: list[Assumption] = []
    if "hand-not-known" in codes:
        found.append(_hand(specification))
    if "hub-assumed" in codes:
        hub = specification.hub
        found.append(
            Assumption(
                HUB, _("Is this the bolt pattern of your hub?"), hub.name, {"hub": hub.code},
                fields=("hub", *MEASURED),
            )
        )  # fmt: skip
    if not specification.hub.is_complete:
        missing = not_measured(specification.hub)
        found.append(Assumption(HOLES, _("How is your hub drilled? Measure the flange."), "", fields=missing))
    if "timber-assumed" in codes:
        timber = specification.timber
        found.append(
            Assumption(
                TIMBER, _("Which timber?"), timber.name, {"timber": timber.code}, fields=("timber",)
            )
        )  # fmt: skip
    return tuple(found)


def _hand(specification: Specification) -> Assumption:
    taken, engine = specification.hand, specification.engine
    other = Hand.LEFT if taken is Hand.RIGHT else Hand.RIGHT
    rule = _(
        "Facing the engine's flange: clockwise takes a left-hand tractor propeller, anticlockwise a right-hand one; "
        "a pusher the other way round."
    )
    if engine is not None and engine.hand_source:
        rule += " " + _("Our catalogue on this engine: %(words)s.") % {
            "words": engine.hand_source.rstrip(".")
        }
    return Assumption(
        HAND,
        _("Which way does your propeller turn? Look at your engine, ignition off."),
        _("%(hand)s-hand, %(turns)s") % {"hand": _(taken.value), "turns": hand_words(taken)},
        {"hand": taken.value},
        {"hand": other.value},
        help=rule,
    )


def not_measured(hub: HubPattern) -> tuple[str, ...]:
    """The names of the figures without which no hole is drilled, and of the pilot when it is not given."""
    return tuple(
        name
        for name, figure in (
            ("bolts", hub.bolts),
            ("circle", hub.circle),
            ("hole", hub.hole),
            ("pilot", hub.pilot),
        )
        if _is_open(figure)
    )


def _is_open(figure: Any) -> bool:
    return figure is None or (isinstance(figure, Figure) and figure.trust is Trust.UNSURE)
