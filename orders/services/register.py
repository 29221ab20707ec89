"""The register of propellers: one that flies no more is retired from it, and the register says why and when."""

from datetime import datetime

from django.db import transaction

from orders.models import Propeller
from orders.refusal import Refused
from orders.services import audit
from orders.who import OWNER, Who


@transaction.atomic
def retire(who: Who, propeller: Propeller, *, cause: str, note: str = "", now: datetime) -> Propeller:
    """Note that a dispatched propeller flies no more: it came back, was damaged, or its life has ended."""
    who.must_be(OWNER)
    if cause not in Propeller.Retirement.values:
        causes = ", ".join(Propeller.Retirement.values)
        raise Refused("cause", f"Say why it is retired: one of {causes}.", status=400, field="cause")
    retired = Propeller.objects.filter(pk=propeller.pk, state=Propeller.State.DISPATCHED).update(
        state=Propeller.State.RETIRED, retired_at=now, retired_for=cause, retired_note=note.strip()
    )
    propeller.refresh_from_db()
    if retired != 1:
        raise Refused(
            "wrong-state", f"The propeller is {propeller.state}; only one that was sent is retired."
        )
    audit.record(
        who, "retire", f"propeller {propeller.serial}", now=now, before=Propeller.State.DISPATCHED,
        after=Propeller.State.RETIRED, reason=f"{cause}: {note.strip()}" if note.strip() else cause,
    )  # fmt: skip
    return propeller
