"""The owner's word on the plan: fixing, holding, ranking, and taking the last of it back."""

from datetime import date, timedelta

import pytest

from orders.models import BenchPerson, Order, OutboxJob, PlanDecision, Stage
from orders.refusal import Refused
from orders.services import bench, decisions
from orders.services.shop import queue_of, shop_of
from quoting.leadtime.calendar import Calendar
from tests.kit.crowd import at_once
from tests.orders.shop import Shop

WEEK = [[[480, 960]]] * 5 + [[], []]


@pytest.fixture
def ada(shop: Shop) -> BenchPerson:
    return BenchPerson.objects.create(key="ada", name="Ada", skills=["carving"], week=WEEK)


def stage(order: Order, key: str) -> Stage:
    return Stage.objects.select_related("propeller__order").get(propeller__order=order, key=key)


def in_turn() -> list[str]:
    return [row.number for row in decisions.turn()]


def test_a_stage_fixed_to_a_person_and_a_day_reaches_the_queue(shop: Shop, ada: BenchPerson) -> None:
    order = shop.build_queued()
    day = shop.today + timedelta(days=30)
    decisions.fix(shop.owner, stage(order, "sand"), person=ada, day=day, now=shop.now)
    calendar = Calendar(shop_of(shop.today))
    task = next(t for t in queue_of(calendar)[0].tasks if t.stage == "sand")
    assert (task.locked_person, task.not_before) == ("ada", calendar.minute(day))
    assert OutboxJob.objects.filter(kind="replan", state="waiting").exists()


def test_nobody_is_fixed_to_what_they_cannot_do(shop: Shop, ada: BenchPerson) -> None:
    order = shop.build_queued()
    with pytest.raises(Refused, match="Ada does not do balancing") as refused:
        decisions.fix(shop.owner, stage(order, "balance"), person=ada, now=shop.now)
    assert refused.value.field == "person"
    assert not PlanDecision.objects.exists()


def test_a_stage_is_not_fixed_to_a_day_gone_by(shop: Shop) -> None:
    order = shop.build_queued()
    with pytest.raises(Refused) as refused:
        decisions.fix(shop.owner, stage(order, "sand"), day=shop.today - timedelta(days=1), now=shop.now)
    assert refused.value.field == "day"


def test_begun_work_stays_where_it_is(shop: Shop) -> None:
    order = shop.build_queued()
    bench.start_stage(shop.at_bench, stage(order, "condition"), shop.wes, now=shop.now)
    with pytest.raises(Refused, match="begun work stays"):
        decisions.fix(shop.owner, stage(order, "condition"), person=shop.wes, now=shop.now)


def test_undo_brings_back_what_stood_before_one_decision_at_a_time(shop: Shop, ada: BenchPerson) -> None:
    order = shop.build_queued()
    day = shop.today + timedelta(days=30)
    decisions.fix(shop.owner, stage(order, "sand"), day=day, now=shop.now)
    decisions.fix(shop.owner, stage(order, "sand"), person=ada, now=shop.later(minutes=1))
    decisions.undo(shop.owner, now=shop.later(minutes=1))
    row = stage(order, "sand")
    assert (row.locked_person, row.not_before and row.not_before.astimezone().date()) == (None, day)
    decisions.undo(shop.owner, now=shop.later(minutes=1))
    assert stage(order, "sand").not_before is None
    with pytest.raises(Refused, match="nothing to undo"):
        decisions.undo(shop.owner, now=shop.now)


def test_undo_refuses_what_was_changed_again_since(shop: Shop, ada: BenchPerson) -> None:
    order = shop.build_queued()
    decisions.fix(shop.owner, stage(order, "sand"), person=ada, now=shop.now)
    Stage.objects.filter(pk=stage(order, "sand").pk).update(locked_person=shop.wes)
    with pytest.raises(Refused, match="changed again"):
        decisions.undo(shop.owner, now=shop.now)
    assert stage(order, "sand").locked_person == shop.wes


def test_a_held_order_is_taken_up_by_undo_and_held_again_by_the_next(shop: Shop) -> None:
    order = shop.build_queued()
    decisions.hold(shop.owner, order, reason="hub on its way", now=shop.now)
    decisions.undo(shop.owner, now=shop.later(minutes=1))
    order.refresh_from_db()
    assert order.state == Order.State.QUEUED
    decisions.hold(shop.owner, order, reason="hub on its way", now=shop.later(minutes=1))
    decisions.take_up(shop.owner, order, now=shop.later(minutes=1))
    decisions.undo(shop.owner, now=shop.later(minutes=1))
    order.refresh_from_db()
    assert (order.state, order.held_reason) == (Order.State.HELD, "hub on its way")


def test_orders_go_by_promise_until_the_owner_ranks_them(shop: Shop) -> None:
    a, b, c = (shop.order() for _ in range(3))
    for n, row in enumerate((b, c, a)):
        Order.objects.filter(pk=row.pk).update(promise=date(2027, 1, 1 + n))
    assert in_turn() == [b.number, c.number, a.number]
    decisions.move(shop.owner, a, sooner=True, now=shop.now)
    assert in_turn() == [b.number, a.number, c.number]
    decisions.place_before(shop.owner, c, b, now=shop.now)
    assert in_turn() == [c.number, b.number, a.number]
    with pytest.raises(Refused, match="first already"):
        decisions.move(shop.owner, c, sooner=True, now=shop.now)


def test_the_queue_sees_the_turn_the_page_shows(shop: Shop) -> None:
    rows = [shop.order() for _ in range(4)]
    decisions.move(shop.owner, rows[3], sooner=True, now=shop.now)
    decisions.place_before(shop.owner, rows[2], rows[0], now=shop.now)
    entries = queue_of(Calendar(shop_of(shop.today)))
    ranked = sorted((o for o in entries if o.rank is not None), key=lambda o: o.rank or 0)
    assert [o.name.split("/")[0] for o in ranked] == in_turn()[: len(ranked)]


def test_undoing_a_rank_brings_the_whole_turn_back(either: Shop) -> None:
    shop = either
    rows = [shop.order() for _ in range(3)]
    before = in_turn()
    decisions.place_before(shop.owner, rows[2], rows[0], now=shop.now)
    decisions.by_promise(shop.owner, rows[2], now=shop.later(minutes=1))
    decisions.undo(shop.owner, now=shop.later(minutes=1))
    decisions.undo(shop.owner, now=shop.later(minutes=1))
    assert in_turn() == before
    assert set(Order.objects.values_list("rank", flat=True)) == {None}


def test_all_ranks_are_forgotten_at_once(shop: Shop) -> None:
    rows = [shop.order() for _ in range(3)]
    decisions.place_before(shop.owner, rows[2], rows[0], now=shop.now)
    decisions.all_by_promise(shop.owner, now=shop.now)
    assert not Order.objects.exclude(rank=None).exists()


def test_only_the_owner_decides(shop: Shop) -> None:
    first, second = shop.build_queued(), shop.queued()
    for action in (
        lambda: decisions.fix(shop.at_bench, stage(first, "sand"), person=shop.wes, now=shop.now),
        lambda: decisions.move(shop.at_bench, second, sooner=True, now=shop.now),
        lambda: decisions.hold(shop.at_bench, first, reason="no", now=shop.now),
        lambda: decisions.undo(shop.at_bench, now=shop.now),
    ):
        with pytest.raises(Refused) as refused:
            action()
        assert refused.value.status == 403


def test_two_moves_at_once_are_two_moves(either: Shop) -> None:
    either.build_queued()
    either.build_queued()
    last = either.build_queued()
    first, second, third = in_turn()
    assert third == last.number
    owner = either.owner
    found = at_once(2, lambda n: decisions.move(owner, last, sooner=True, now=either.now))
    assert found == [None, None]
    assert in_turn() == [third, first, second]


def test_two_placings_at_once_leave_one_turn_that_both_read(either: Shop) -> None:
    a, b, c = (either.build_queued() for _ in range(3))
    owner = either.owner
    moved = at_once(
        2, lambda n: decisions.place_before(owner, (b, c)[n], a, now=either.now + timedelta(minutes=n))
    )
    assert moved == [None, None]
    assert in_turn() in ([b.number, c.number, a.number], [c.number, b.number, a.number])
    ranks = list(Order.objects.order_by("rank").values_list("rank", flat=True))
    assert len(set(ranks)) == 3
