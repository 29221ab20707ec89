"""All checks in the order a reader wants them."""

from quoting.propeller.checks.evidence import Evidence
from quoting.propeller.finding import Finding


def check(evidence: Evidence) -> tuple[Finding, ...]:
    """Every finding on one propeller, gravest first and otherwise in the order of the checks."""
    return ()
