"""What was done wrongly at the bench: a stage opened again with what it spoiled, or left out; records stay as they are."""

from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet

from orders.models import AuditRecord, Order, Propeller, Stage
from orders.refusal import Refused
from orders.services import audit, outbox
from orders.services.bench import locked_stage
from orders.services.steps import move_order
from orders.who import BENCH, OWNER, Who
from quoting.propeller.build import CRATING, STAGES, undone_with

S = Stage.State
P = Propeller.State
IN_THE_SHOP = (P.PLANNED, P.IN_WORK, P.RELEASED)
VERBS = {S.DONE: "do again", S.STARTED: "put back", S.LEFT_OUT: "take in", S.TO_DO: "leave out"}
"""What is done to a stage, by the state it is in; in the audit trail with the stage's key behind it."""


def spoiled(stage: Stage) -> QuerySet[Stage]:
    """The later stages that are done and must be done again when this one is."""
    return stage.propeller.stages.filter(
        key__in=undone_with(stage.key), position__gt=stage.position, state=S.DONE
    )


def may_reopen(stage: Stage) -> bool:
    """Whether a stage can be opened again: it is done, begun or left out, and the propeller is still here."""
    return stage.state != S.TO_DO and _is_here(stage.propeller)


def may_leave_out(stage: Stage) -> bool:
    """Whether a stage can be left out: the trade allows it, and it is not begun."""
    return stage.state == S.TO_DO and STAGES[stage.key].may_be_left_out and _is_here(stage.propeller)


def decisions_on(propeller: Propeller) -> QuerySet[AuditRecord]:
    """What was decided on a propeller, oldest first."""
    names = (_subject(propeller), _without_serial(propeller))
    return AuditRecord.objects.filter(subject__in=names).order_by("at", "id")


def decisions_on_stage(stage: Stage) -> QuerySet[AuditRecord]:
    """When a stage was opened again or left out, oldest first."""
    verbs = Q(verb__in=[f"{verb} {stage.key}" for verb in VERBS.values()])
    return decisions_on(stage.propeller).filter(verbs)


@transaction.atomic
def do_again(who: Who, stage: Stage, *, reason: str, now: datetime) -> Stage:
    """Open a stage again that is done or begun; what it spoiled is opened too. The owner alone takes in what was left out.

    A released propeller goes back to the bench, and a ready order with it.
    """
    who.must_be(BENCH, OWNER)
    reason = _said(reason, "Say why it is done again.")
    stage = locked_stage(stage)
    propeller, order, before = stage.propeller, stage.propeller.order, S(stage.state)
    if before == S.LEFT_OUT:
        who.must_be(OWNER)
    if not may_reopen(stage):
        raise _not_now(stage)
    rows = Stage.objects.filter(Q(pk=stage.pk) | Q(pk__in=spoiled(stage).values("pk")))
    rows.update(state=S.TO_DO, finished_at=None, started_at=None, started_by=None)
    if propeller.state == P.RELEASED and stage.key != CRATING:
        Propeller.objects.filter(pk=propeller.pk).update(state=P.IN_WORK, released_at=None, released_by="")
        if order.state == Order.State.READY:
            move_order(who, order, Order.State.ON_THE_BENCH, now=now, verb="take back", reason=reason)
    _note(who, stage, before, S.TO_DO, reason, now=now)
    stage.refresh_from_db()
    return stage


@transaction.atomic
def leave_out(who: Who, stage: Stage, *, reason: str, now: datetime) -> Stage:
    """The owner leaves a stage out (no decal wished, no edge guard). What guards safety cannot be left out."""
    who.must_be(OWNER)
    reason = _said(reason, "Say why it is left out.")
    stage = locked_stage(stage)
    if not STAGES[stage.key].may_be_left_out:
        raise Refused("needed", f"“{stage.label}” cannot be left out.")
    if not may_leave_out(stage):
        raise _not_now(stage)
    Stage.objects.filter(pk=stage.pk).update(state=S.LEFT_OUT)
    _note(who, stage, S.TO_DO, S.LEFT_OUT, reason, now=now)
    stage.refresh_from_db()
    return stage


def _is_here(propeller: Propeller) -> bool:
    return propeller.order.is_open and propeller.state in IN_THE_SHOP


def _said(reason: str, missing: str) -> str:
    if not reason.strip():
        raise Refused("reason-missing", missing, status=400, field="reason")
    return reason.strip()


def _not_now(stage: Stage) -> Refused:
    propeller = stage.propeller
    if not _is_here(propeller):
        return Refused(
            "wrong-state", f"Order {propeller.order.number} is {propeller.order.state}; its build is over."
        )
    return Refused("wrong-state", f"“{stage.label}” is {stage.state}.")


def _subject(propeller: Propeller) -> str:
    return f"propeller {propeller.serial}" if propeller.serial else _without_serial(propeller)


def _without_serial(propeller: Propeller) -> str:
    """How a propeller is named before its order joins the queue."""
    return f"propeller {propeller.position} of order {propeller.order.number}"


def _note(who: Who, stage: Stage, before: str, after: str, reason: str, *, now: datetime) -> None:
    verb = f"{VERBS[S(before)]} {stage.key}"
    audit.record(who, verb, _subject(stage.propeller), now=now, before=before, after=after, reason=reason)
    outbox.enqueue("replan", {"reason": f"{stage.propeller}: {verb}"}, now=now, debounce="replan")
