"""The owner's decisions on the plan: fix a stage, hold an order, change its rank; and undo of the last one."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, time
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.models import BenchPerson, Order, PlanDecision, Stage, Workshop
from orders.refusal import Refused
from orders.services import audit, outbox, queue
from orders.services.shop_check import edited
from orders.services.steps import locked
from orders.who import OWNER, Who

K = PlanDecision.Kind
IN_TURN = (Order.State.WAITING, Order.State.QUEUED, Order.State.ON_THE_BENCH)


def fix(
    who: Who, stage: Stage, *, person: BenchPerson | None = None, day: date | None = None, now: datetime
) -> None:
    """Fix a stage to a person, to begin no earlier than a day, or both; neither sets it free again.

    Raises Refused at `person` or `day` where that cannot be, and for work that has begun.
    """
    with edited(
        who,
        "fix" if person or day else "set free",
        f"{stage.label} of {_which(stage)}",
        now=now,
        field="person",
    ):
        stage = _locked_stage(stage.pk)
        _must_be_to_come(stage)
        if person and (not person.active or stage.skill not in person.skills):
            raise Refused("skill", f"{person.name} does not do {stage.skill}.", status=400, field="person")
        if day and day < timezone.localdate(now):
            raise Refused("day", "Choose today or a day to come.", status=400, field="day")
        before = _fixed(stage)
        not_before = datetime.combine(day, time(), tzinfo=Workshop.objects.get().zone) if day else None
        Stage.objects.filter(pk=stage.pk).update(locked_person=person, not_before=not_before)
        stage.locked_person, stage.not_before = person, not_before
        words = _fix_words(stage, person, day)
        _remember(who, K.FIX, stage.propeller.order, words, before, _fixed(stage), now=now, stage=stage)


@transaction.atomic
def hold(who: Who, order: Order, *, reason: str, now: datetime) -> None:
    """Put an order on hold; it keeps its place in the build."""
    queue.hold(who, order, reason=reason, now=now)
    _remember(
        who, K.HOLD, order, f"{order.number} held: {reason.strip()}", {}, {"state": Order.State.HELD}, now=now
    )


@transaction.atomic
def take_up(who: Who, order: Order, *, now: datetime) -> None:
    """Take an order off hold."""
    held = locked(order)
    queue.release_hold(who, order, now=now)
    _remember(
        who, K.TAKE_UP, order, f"{order.number} taken up again", {"reason": held.held_reason}, {}, now=now
    )


def turn() -> list[Order]:
    """Open orders in the turn the queue takes them: rush orders, then the owner's ranks, then by promise."""
    return sorted(Order.objects.filter(state__in=IN_TURN).select_related("customer"), key=_place)


def _locked_turn() -> list[Order]:
    """The turn with every order of it locked, so that it stands until the ranks that follow from it are written."""
    return sorted(Order.objects.select_for_update().filter(state__in=IN_TURN).order_by("pk"), key=_place)


def _place(order: Order) -> tuple[float, float, date, datetime, int]:
    klass = 1.0 if order.rank is not None else 0.0 if order.rush else 2.0
    return (klass, order.rank or 0.0, order.promise or date.max, order.accepted_at, order.pk)


@transaction.atomic
def move(who: Who, order: Order, *, sooner: bool, now: datetime) -> None:
    """One place sooner or later in the turn."""
    who.must_be(OWNER)
    rows = _locked_turn()
    here = _where(rows, order)
    there = here + (-1 if sooner else 1)
    if not 0 <= there < len(rows):
        raise Refused("at-the-end", f"{order.number} is {'first' if sooner else 'last'} already.")
    rows[here], rows[there] = rows[there], rows[here]
    _rank(who, order, rows, max(here, there), f"{order.number} {'sooner' if sooner else 'later'}", now=now)


@transaction.atomic
def place_before(who: Who, order: Order, other: Order, *, now: datetime) -> None:
    """Take an order just before another."""
    who.must_be(OWNER)
    if order.pk == other.pk:
        raise Refused("same", "Choose another order.", status=400, field="before")
    rows = _locked_turn()
    rows.remove(rows[_where(rows, order)])
    at = _where(rows, other)
    rows.insert(at, order)
    _rank(who, order, rows, at, f"{order.number} before {other.number}", now=now)


@transaction.atomic
def by_promise(who: Who, order: Order, *, now: datetime) -> None:
    """Take an order in the turn of its promise again."""
    order = locked(order)
    if order.rank is None:
        raise Refused("no-rank", f"{order.number} goes by its promise already.")
    _set_ranks(who, order, {order.pk: None}, f"{order.number} by its promise again", now=now)


@transaction.atomic
def all_by_promise(who: Who, *, now: datetime) -> None:
    """Forget all ranks."""
    ranked = sorted((row for row in _locked_turn() if row.rank is not None), key=lambda row: row.rank or 0.0)
    if not ranked:
        raise Refused("no-rank", "All orders go by their promises already.")
    _set_ranks(who, ranked[0], {row.pk: None for row in ranked}, "all by their promises again", now=now)


def last() -> PlanDecision | None:
    """The decision that undo would take back."""
    return PlanDecision.objects.filter(undone_at=None).select_related("order", "stage").first()


@transaction.atomic
def undo(who: Who, *, now: datetime) -> PlanDecision:
    """Take the last decision back. Raises Refused when what it changed has been changed again since."""
    who.must_be(OWNER)
    decision = PlanDecision.objects.select_for_update(of=("self",)).filter(undone_at=None).first()
    if decision is None:
        raise Refused("nothing", "There is nothing to undo.")
    UNDO[K(decision.kind)](who, decision, now)
    PlanDecision.objects.filter(pk=decision.pk).update(undone_at=now)
    audit.record(who, "undo", f"order {decision.order.number}", now=now, reason=decision.words)
    outbox.enqueue("replan", {"reason": f"undone: {decision.words}"[:160]}, now=now, debounce="replan")
    return decision


def _undo_fix(_who: Who, decision: PlanDecision, _now: datetime) -> None:
    stage = _locked_stage(decision.stage_id or 0)
    _must_be_to_come(stage)
    _same(_fixed(stage), decision.after)
    person, moment = decision.before["person"], decision.before["not_before"]
    Stage.objects.filter(pk=stage.pk).update(
        locked_person=BenchPerson.objects.filter(key=person).first() if person else None,
        not_before=datetime.fromisoformat(moment) if moment else None,
    )


def _undo_hold(who: Who, decision: PlanDecision, now: datetime) -> None:
    queue.release_hold(who, decision.order, now=now)


def _undo_take_up(who: Who, decision: PlanDecision, now: datetime) -> None:
    queue.hold(who, decision.order, reason=decision.before["reason"], now=now)


def _undo_rank(_who: Who, decision: PlanDecision, _now: datetime) -> None:
    list(Order.objects.select_for_update().filter(pk__in=map(int, decision.after)).order_by("pk"))
    _same(_ranks(decision.after), decision.after)
    for key, rank in decision.before.items():
        Order.objects.filter(pk=int(key)).update(rank=rank)


UNDO = {K.FIX: _undo_fix, K.HOLD: _undo_hold, K.TAKE_UP: _undo_take_up, K.RANK: _undo_rank}


def _same(found: object, expected: object) -> None:
    if found != expected:
        raise Refused("moved-meanwhile", "This was changed again since; decide anew instead of undoing.")


def _must_be_to_come(stage: Stage) -> None:
    if stage.state != Stage.State.TO_DO:
        raise Refused("begun", f"“{stage.label}” is {stage.state}: begun work stays where it is.")


def _where(rows: list[Order], order: Order) -> int:
    found = next((n for n, row in enumerate(rows) if row.pk == order.pk), None)
    if found is None:
        raise Refused("not-in-turn", f"{order.number} is {order.state} and has no turn.")
    return found


def _locked_stage(pk: int) -> Stage:
    rows = Stage.objects.select_for_update(of=("self",))
    return rows.select_related("propeller__order", "locked_person").get(pk=pk)


def _rank(who: Who, order: Order, rows: list[Order], upto: int, words: str, *, now: datetime) -> None:
    """Give the orders up to a place, and all ranked ones, the ranks that keep this turn."""
    last_ranked = max((n for n, row in enumerate(rows) if row.rank is not None), default=0)
    prefix = rows[: max(upto, last_ranked) + 1]
    _set_ranks(who, order, {row.pk: float(n) for n, row in enumerate(prefix, start=1)}, words, now=now)


def _set_ranks(
    who: Who, order: Order, ranks: Mapping[int, float | None], words: str, *, now: datetime
) -> None:
    who.must_be(OWNER)
    before = _ranks(ranks)
    for pk, rank in ranks.items():
        Order.objects.filter(pk=pk).update(rank=rank)
    audit.record(who, "rank", f"order {order.number}", now=now, reason=words)
    outbox.enqueue("replan", {"reason": words}, now=now, debounce="replan")
    after = {str(pk): rank for pk, rank in ranks.items()}
    _remember(who, K.RANK, order, words, before, after, now=now)


def _ranks(orders: Iterable[Any]) -> dict[str, float | None]:
    rows = Order.objects.filter(pk__in=[int(pk) for pk in orders]).values_list("pk", "rank")
    return {str(pk): rank for pk, rank in rows}


def _fixed(stage: Stage) -> dict[str, Any]:
    return {
        "person": stage.locked_person.key if stage.locked_person else None,
        "not_before": stage.not_before.astimezone(UTC).isoformat() if stage.not_before else None,
    }


def _fix_words(stage: Stage, person: BenchPerson | None, day: date | None) -> str:
    what = f"{stage.label} of {_which(stage)}"
    to = [f"to {person.name}"] if person else []
    to += [f"from {day.day} {day:%B}"] if day else []
    return f"{what} fixed {' '.join(to)}" if to else f"{what} set free"


def _which(stage: Stage) -> str:
    """The propeller of a stage as everybody calls it: its serial number, or its order's until it has one."""
    return stage.propeller.serial or stage.propeller.order.number


def _remember(
    who: Who,
    kind: str,
    order: Order,
    words: str,
    before: dict[str, Any],
    after: dict[str, Any],
    *,
    now: datetime,
    stage: Stage | None = None,
) -> None:
    PlanDecision.objects.create(
        kind=kind, order=order, stage=stage, words=words[:200], before=before, after=after,
        name=who.name[:120], user=who.user, at=now,
    )  # fmt: skip
