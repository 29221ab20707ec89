"""One result of a check, in words a customer can read: what was found, against which limit, from which source."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """What a finding means for the quote, mildest first."""

    NOTE = "note"
    NOT_CHECKED = "not checked"
    CAUTION = "caution"
    STOP = "stop"

    @property
    def rank(self) -> int:
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Finding:
    """One result of a check.

    `code` names the check (kebab-case, stable), `field` the part of the specification that
    mends it (a `Specification` field name, or "" for none). `figure` and `limit` are in `unit`,
    None where there is no number. `message` is one plain sentence; `source` says where the
    limit comes from, or "common practice, no source".
    """

    code: str
    severity: Severity
    field: str
    figure: float | None
    limit: float | None
    unit: str
    message: str
    source: str


def worst(findings: Iterable[Finding]) -> Severity:
    """The gravest severity among the findings; NOTE when there are none."""
    return max((f.severity for f in findings), key=lambda s: s.rank, default=Severity.NOTE)
