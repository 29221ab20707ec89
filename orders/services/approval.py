"""Approvals: drawing and mock-up are asked for together; the drawing blocks the queue, the mock-up only varnish."""

from datetime import datetime
from typing import Any

from django.db import transaction

from orders.models import Approval, Order
from orders.refusal import Refused
from orders.services import assumptions, audit, drawings, letters
from orders.services.queue import join_if_ready
from orders.services.steps import locked
from orders.who import OWNER, Who
from quoting.services.serial import digest

S = Approval.State
MOST_REMARKS = 40
LONGEST_REMARK = 2000


def ask_for_both(who: Who, order: Order, shown: dict[str, Any], *, now: datetime) -> None:
    """Ask for the drawing and the mock-up at acceptance, and have them made; assumes the caller's transaction."""
    for kind in Approval.Kind.values:
        _ask(who, order, kind, shown, note="", now=now)
    drawings.ask_for(order.quote, now=now)


@transaction.atomic
def ask_for_approval(
    who: Who, order: Order, kind: str, shown: dict[str, Any], *, note: str, now: datetime
) -> Approval:
    """Show a new revision of a picture. The question still open on the one before is closed as "changes wanted"."""
    who.must_be(OWNER)
    order = locked(order)
    if not order.is_open:
        raise Refused("wrong-state", f"Order {order.number} is {order.state}.")
    order.approvals.filter(kind=kind, state=S.ASKED).update(
        state=S.CHANGES_WANTED, decided_at=now, decided_name=who.name[:120]
    )
    approval = _ask(who, order, kind, shown, note=note, now=now)
    letters.approval_asked(approval, now=now)
    return approval


def _ask(who: Who, order: Order, kind: str, shown: dict[str, Any], *, note: str, now: datetime) -> Approval:
    last = order.approvals.filter(kind=kind).order_by("-revision").first()
    approval = Approval.objects.create(
        order=order,
        kind=kind,
        revision=last.revision + 1 if last else 1,
        shown=shown,
        shown_hash=digest(shown),
        note=note,
        asked_at=now,
    )
    audit.record(
        who, f"ask for {kind}", f"order {order.number}", now=now, after=f"revision {approval.revision}"
    )
    return approval


@transaction.atomic
def approve(who: Who, approval: Approval, *, seen: str, now: datetime) -> Approval:
    """The customer approves what was on the screen: `seen` is its hash.

    Raises Refused for the drawing while what it was drawn on is not confirmed.
    """
    order = locked(approval.order)
    if approval.kind == Approval.Kind.DRAWING and assumptions.keeps_waiting(order):
        raise Refused(
            "open-questions",
            "The drawing rests on what is not confirmed yet: answer the open questions first.",
        )
    _decide(who, approval, seen, S.APPROVED, now=now)
    join_if_ready(who, order, now=now)
    return approval


@transaction.atomic
def want_changes(
    who: Who, approval: Approval, remarks: list[dict[str, Any]], *, seen: str, now: datetime
) -> Approval:
    """The customer wants changes; each remark is a numbered balloon {"x": 0..1, "y": 0..1, "text": ...}."""
    order = approval.order
    clean = [_remark(number, remark) for number, remark in enumerate(remarks, start=1)]
    if not clean or len(clean) > MOST_REMARKS:
        raise Refused(
            "remarks", f"Write between one and {MOST_REMARKS} remarks.", status=400, field="remarks"
        )
    _decide(who, approval, seen, S.CHANGES_WANTED, remarks=clean, now=now)
    letters.alert_owner(
        f"Changes wanted: {approval.kind} of order {order.number}",
        "\n".join(f"{remark['number']}. {remark['text']}" for remark in clean),
        now=now,
        about=order,
    )
    return approval


def _decide(
    who: Who, approval: Approval, seen: str, state: str, *, now: datetime, remarks: list[Any] | None = None
) -> None:
    if not who.name.strip():
        raise Refused("name-missing", "Enter your name.", status=400, field="name")
    if seen != approval.shown_hash:
        raise Refused("another-picture", "There is a newer picture; please look at that one.")
    decided = Approval.objects.filter(pk=approval.pk, state=S.ASKED).update(
        state=state, decided_at=now, decided_name=who.name[:120], remarks=remarks or []
    )
    if decided != 1:
        raise Refused("decided-already", f"This {approval.kind} is answered already.")
    approval.refresh_from_db()
    audit.record(
        who, f"answer {approval.kind}", f"order {approval.order.number}",
        now=now, before=S.ASKED, after=state, detail={"revision": approval.revision},
    )  # fmt: skip


def _remark(number: int, remark: dict[str, Any]) -> dict[str, Any]:
    text = str(remark.get("text", "")).strip()
    if not text or len(text) > LONGEST_REMARK:
        raise Refused(
            "remark",
            f"Remark {number}: write up to {LONGEST_REMARK} characters.",
            status=400,
            field="remarks",
        )
    place = {axis: remark.get(axis) for axis in ("x", "y")}
    for axis, value in place.items():
        if value is not None and not (isinstance(value, int | float) and 0 <= value <= 1):
            raise Refused(
                "remark", f"Remark {number}: {axis} lies between 0 and 1.", status=400, field="remarks"
            )
    return {"number": number, "text": text, **place}
