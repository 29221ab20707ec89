"""What was decided on a build, in words: a stage to be done again or left out, released, sent, retired; when, who, why."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from orders.models import AuditRecord
from quoting.propeller.build import STAGES


@dataclass(frozen=True, slots=True)
class Note:
    """One decision as it is read."""

    at: datetime
    name: str
    words: str
    reason: str


def notes(records: Iterable[AuditRecord]) -> list[Note]:
    return [Note(row.at, row.name, words_of(row.verb), row.reason) for row in records]


def words_of(verb: str) -> str:
    """An entry's verb, with its stage in front where it has one."""
    known = {
        "do again": _("to be done again"),
        "put back": _("put back, not begun"),
        "take in": _("taken in again"),
        "leave out": _("left out"),
        "release": _("Released"),
        "dispatch": _("Sent"),
        "retire": _("Retired"),
        "take over the build": _("Build taken over from paper"),
    }
    deed, _space, key = verb.rpartition(" ")
    if key in STAGES and deed in known:
        return f"{_(STAGES[key].name)}: {known[deed]}"
    return str(known.get(verb, verb))
