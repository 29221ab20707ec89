"""What the checks find on a sample propeller with some things changed."""

from quoting.propeller.assessment import assess
from quoting.propeller.finding import Severity
from tests.quoting.samples import specification


def found(code, **changes):
    """The severities of what this check has to say against a specification with these changes; notes left out."""
    findings = assess(specification(**changes)).findings
    return [f.severity for f in findings if f.code == code and f.severity is not Severity.NOTE]


def only(code, **changes):
    findings = [f for f in assess(specification(**changes)).findings if f.code == code]
    assert len(findings) == 1, findings
    return findings[0]
