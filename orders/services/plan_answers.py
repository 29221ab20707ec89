"""The worker's answers to longer questions: two forecasts with the same random futures, or a longer search for a plan.

Imports the simulation; only the worker imports this file.
"""

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.models import Enquiry, Order, OutboxJob, PlanQuestion, PlanVersion, Propeller
from orders.refusal import Refused
from orders.services import audit, shop
from orders.services.knowledge import snapshot_at
from orders.services.quote import preview
from orders.services.replan import turn_of_last
from orders.who import THE_SERVICE
from quoting.leadtime import whatif
from quoting.leadtime.calendar import Calendar, ShopProblem
from quoting.leadtime.forecast import Stopped
from quoting.leadtime.moves import Snapshot
from quoting.leadtime.plan import Progress, plan
from quoting.leadtime.queue import OuterWait, QueuedOrder, Task
from quoting.leadtime.shop import Shop
from quoting.leadtime.whatif import Effect, WhatIf
from quoting.pricing.money import Money
from quoting.propeller.build import MOCK_UP_BEFORE
from quoting.services.pricebook import NoPriceBook, current_book

FUTURES = 600
NEWCOMER = -1
"""Key of the first propeller only asked for; further ones count down."""
TELL_EVERY = 0.5
"""Seconds between two notes of how far it has come."""
Q = PlanQuestion
State = tuple[Shop, tuple[QueuedOrder, ...]]


@dataclass
class Teller:
    """Writes how far a question has come, now and then, and reads whether it is to end."""

    row: PlanQuestion
    told_at: float = 0.0
    go_on: bool = field(default=True)

    def tell(self, share: float, **told: Any) -> bool:
        if time.monotonic() - self.told_at >= TELL_EVERY:
            self.told_at = time.monotonic()
            Q.objects.filter(pk=self.row.pk).update(share=min(max(share, 0.0), 1.0), told=told)
            self.go_on = not Q.objects.filter(pk=self.row.pk, cancelled=True).exists()
        return self.go_on


def what_if(payload: dict[str, Any]) -> None:
    """Job: answer one question; whatever comes of it stands on its row."""
    row = _begin(payload)
    if row is None:
        return
    now = timezone.now()
    seen = snapshot_at(now)
    teller = Teller(row)
    with _ending(row, seen):
        before, after, in_its_turn = _states(row.asked, seen)
        found = _compare(
            seen, before, after, lambda share: teller.tell(share * (1 if in_its_turn is None else 0.5))
        )
        price = found
        if in_its_turn is not None:
            price = _compare(seen, in_its_turn, after, lambda share: teller.tell(0.5 + share / 2))
        rushes = row.asked["what"] == "rush" or bool(row.asked.get("rush"))
        answer = _answer(found, Calendar(after[0]), price if rushes else None)
        _end(row, Q.State.DONE, share=1.0, answer=answer)


def search(payload: dict[str, Any]) -> None:
    """Job: look longer for a better plan and let it stand, unless the shop changed meanwhile."""
    row = _begin(payload)
    if row is None:
        return
    seen = snapshot_at(timezone.now())
    standing = PlanVersion.objects.filter(current=True).values_list("pk", "as_of").first()
    teller = Teller(row)

    def progress(p: Progress) -> bool:
        return teller.tell(p.share, first=p.first_cost, best=p.best_cost, tried=p.tried)

    with _ending(row, seen):
        if not seen.orders:
            raise ShopProblem("there is nothing in the queue to plan")
        found = plan(
            seen.shop, seen.orders, seen.calibration, now_minute=seen.now,
            seconds=float(row.asked["seconds"]), start=turn_of_last(), progress=progress,
        )  # fmt: skip
        kept = _keep(standing, found)
        answer = {
            "first_cost": found.first_cost, "cost": found.cost, "tried": found.tried, "kept": kept,
            "late": len(found.late),
        }  # fmt: skip
        state = Q.State.DONE if teller.go_on else Q.State.CANCELLED
        _end(row, state, share=1.0 if teller.go_on else row.share, answer=answer)


@transaction.atomic
def _keep(standing: tuple[int, datetime] | None, found: Any) -> bool:
    """Let the plan found stand in place of the one it began from, if that still stands and nothing has changed."""
    changed = OutboxJob.objects.filter(
        kind="replan", state__in=[OutboxJob.State.WAITING, OutboxJob.State.RUNNING]
    ).exists()
    if standing is None or changed:
        return False
    now = timezone.now()
    swapped = PlanVersion.objects.filter(pk=standing[0], as_of=standing[1], current=True).update(
        plan=asdict(found), as_of=now, reason="a longer search"
    )
    if swapped:
        audit.record(THE_SERVICE, "plan", "a longer search", now=now)
    return bool(swapped)


def _begin(payload: dict[str, Any]) -> PlanQuestion | None:
    """The question, now running; None when it was cancelled or has an answer."""
    rows = Q.objects.filter(pk=payload["question"])
    # a question whose worker was lost is asked again by the outbox: running counts as not answered
    version = PlanVersion.objects.filter(current=True).values_list("version", flat=True).first() or ""
    open_rows = rows.filter(state__in=[Q.State.ASKED, Q.State.RUNNING], cancelled=False)
    if open_rows.update(state=Q.State.RUNNING, plan_version=version) != 1:
        rows.filter(state=Q.State.RUNNING).update(state=Q.State.CANCELLED, ended_at=timezone.now())
        return None
    return rows.get()


def _end(row: PlanQuestion, state: str, **changes: Any) -> None:
    Q.objects.filter(pk=row.pk, state=Q.State.RUNNING).update(state=state, ended_at=timezone.now(), **changes)


@contextmanager
def _ending(row: PlanQuestion, seen: Snapshot) -> Iterator[None]:
    """What cannot be computed ends the question with its cause in words."""
    Q.objects.filter(pk=row.pk).update(told={"orders": len(seen.orders)})
    try:
        yield
    except Stopped:
        _end(row, Q.State.CANCELLED)
    except (Refused, ShopProblem, NoPriceBook, KeyError) as trouble:
        words = (
            str(trouble) if not isinstance(trouble, KeyError) else f"{trouble} is not in the queue any more"
        )
        _end(row, Q.State.FAILED, problem=words[:1000])


def _compare(seen: Snapshot, before: State, after: State, progress: Any) -> WhatIf:
    return whatif.compare(
        before, after, seen.calibration, now_minute=seen.now, typical=shop.typical_route(), futures=FUTURES,
        progress=progress,
    )  # fmt: skip


def _states(asked: dict[str, Any], seen: Snapshot) -> tuple[State, State, State | None]:
    """The queue as it is, as it would be, and for a rushed newcomer as it would be in its turn."""
    now: State = (seen.shop, tuple(seen.orders))
    what = asked["what"]
    if what == "accept":
        newcomers = _newcomers(asked["enquiry"], seen.now)
        in_its_turn: State = (seen.shop, (*seen.orders, *newcomers))
        if not asked.get("rush"):
            return now, in_its_turn, None
        return now, (seen.shop, _rushed(in_its_turn[1], [n.key for n in newcomers], None)), in_its_turn
    if what == "rush":
        keys = _keys(asked["order"], seen.orders)
        before = min(_keys(asked["before"], seen.orders)) if asked["before"] else None
        return now, (seen.shop, _rushed(now[1], keys, before)), None
    if what == "away":
        return now, (whatif.away(seen.shop, asked["person"], _span(asked)), now[1]), None
    if what == "closed":
        return now, (whatif.closed(seen.shop, _span(asked)), now[1]), None
    if what == "machine":
        return now, (whatif.with_machines(seen.shop, asked["machine"]), now[1]), None
    if what == "weekday":
        hours = tuple((int(a), int(b)) for a, b in asked["hours"])
        return now, (whatif.with_hours(seen.shop, asked["day"], hours, asked["people"]), now[1]), None
    raise Refused("question", f"There is no question “{what}”.")


def _rushed(
    orders: Sequence[QueuedOrder], keys: Sequence[int], before: int | None
) -> tuple[QueuedOrder, ...]:
    changed = tuple(orders)
    if before is None:
        for key in keys:
            changed = whatif.rushed(changed, key)
        return changed
    # the turn of the queue, not the order of acceptance, is what a place before somebody means
    changed = tuple(sorted(changed, key=lambda o: _turn_key(o)))
    for key in keys:
        changed = whatif.rushed(changed, key, before=before)
    return changed


def _turn_key(order: QueuedOrder) -> tuple[float, float, float, float, int]:
    klass = 1.0 if order.rank is not None else 0.0 if order.klass == 0 else 2.0
    due = float("inf") if order.due is None else float(order.due)
    return (klass, order.rank or 0.0, due, float(order.arrived), order.key)


def _keys(number: str, orders: Sequence[QueuedOrder]) -> list[int]:
    """The propellers of an order that are in the queue; KeyError when none is."""
    there = {o.key for o in orders if not o.held}
    pks = Propeller.objects.filter(order__number=number).order_by("position").values_list("pk", flat=True)
    found = [pk for pk in pks if pk in there]
    if not found:
        raise KeyError(number)
    return found


def _span(asked: dict[str, Any]) -> list[date]:
    first, last = date.fromisoformat(asked["first_day"]), date.fromisoformat(asked["last_day"])
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _newcomers(number: str, minute: int) -> list[QueuedOrder]:
    """The propellers of an enquiry as they would join the queue, its deposit and pictures still out."""
    enquiry = Enquiry.objects.get(number=number)
    made = preview(enquiry, today=timezone.localdate())
    if not made.work:
        raise Refused("stop", f"{number} has no hours while a stop stands: override it at the review first.")
    waits = (
        OuterWait("deposit", "customer", minute),
        OuterWait("drawing", "customer", minute),
        OuterWait("mock-up", "customer", minute, MOCK_UP_BEFORE),
    )
    tasks = tuple(Task(s.stage, s.minutes, s.wait_minutes) for s in made.work)
    one = QueuedOrder(NEWCOMER, number, minute, tasks, waits)
    return [replace(one, key=NEWCOMER - n) for n in range(made.specification.quantity)]


def _answer(found: WhatIf, calendar: Calendar, price: WhatIf | None) -> dict[str, Any]:
    """What the page shows: every order worth telling of, its last propeller's effect; dates and chances."""
    propellers = Propeller.objects.filter(pk__in=[e.key for e in found.effects]).select_related(
        "order__customer"
    )
    orders = {row.pk: row.order for row in propellers}
    gravest: dict[int, Effect] = {}
    for effect in found.effects:
        order = orders.get(effect.key)
        if order is not None and (order.pk not in gravest or effect.p80_after > gravest[order.pk].p80_after):
            gravest[order.pk] = effect
    told = set(found.worth_telling)
    rows = [_row(orders[e.key], e, calendar, told=e in told) for e in gravest.values()]
    rows.sort(key=lambda r: (-r["becomes_late"], -r["mean_days"]))
    return {
        "effects": rows,
        "worth_telling": sum(r["told"] for r in rows),
        "become_late": sum(r["becomes_late"] for r in rows),
        "delayed": sum(r["moved_days"] > 0 for r in rows),
        "order_days": round(found.order_days, 1),
        "newcomer": [calendar.day(m).isoformat() for m in found.newcomer] if found.newcomer else [],
        **(_rush_price(price) if price else {}),
    }


def _row(order: Order, effect: Effect, calendar: Calendar, *, told: bool) -> dict[str, Any]:
    return {
        "order": order.number,
        "customer": order.customer.name,
        "promise": order.promise.isoformat() if order.promise else "",
        "late_before": effect.late_before,
        "late_after": effect.late_after,
        "plan_on_before": calendar.day(effect.p80_before).isoformat(),
        "plan_on_after": calendar.day(effect.p80_after).isoformat(),
        "moved_days": effect.moved_days,
        "mean_days": round(effect.mean_days, 2),
        "becomes_late": effect.becomes_late,
        "told": told,
    }


def _rush_price(price: WhatIf) -> dict[str, Any]:
    """What the others' waiting is worth at the price book's rate for a delayed order-day."""
    try:
        book = current_book(timezone.localdate())
    except NoPriceBook:
        return {}
    rate = Money.rounded(book.value_of("rush.order_day"), book.currency)
    return {
        "rush_order_days": round(price.order_days, 1),
        "rush_price": whatif.rush_minor_units(price, rate.minor),
        "currency": book.currency,
        "price_book": book.version,
    }
