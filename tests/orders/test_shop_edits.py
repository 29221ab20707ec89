"""The owner edits the shop: every edit asks for a new plan, and what would break the plan is refused with its cause."""

from datetime import date, timedelta

import pytest

from orders.models import Absence, BenchPerson, Closure, Machine, Order, OutboxJob, Rack, StageType, Workshop
from orders.refusal import Refused
from orders.services import equipment, hours, people, shop_check, stages
from orders.services.shop import holidays_of, queue_of, shop_of, within
from quoting.leadtime.calendar import Calendar
from tests.orders.shop import SKILLS, Shop

WEEK = [[[480, 720], [780, 1020]]] * 5 + [[], []]
MONDAY = date(2026, 9, 14)


def replans() -> int:
    return OutboxJob.objects.filter(kind="replan", state="waiting").count()


def no_replan_waits() -> None:
    OutboxJob.objects.all().delete()


def test_a_newcomer_is_planned_for_and_a_new_plan_asked(shop: Shop) -> None:
    no_replan_waits()
    made = people.add(shop.owner, name="Ada Finch", skills=["carving"], week=WEEK, now=shop.now)
    assert [p.key for p in shop_of(MONDAY).persons] == ["ada-finch", "wes"]
    assert (made.week, replans()) == (WEEK, 1)


def test_two_of_one_name_get_two_keys_once_the_first_has_left(shop: Shop) -> None:
    first = people.add(shop.owner, name="Ada", skills=["carving"], week=WEEK, now=shop.now)
    with pytest.raises(Refused, match="has this name"):
        people.add(shop.owner, name="ada", skills=[], week=WEEK, now=shop.now)
    people.leave(shop.owner, first, now=shop.now)
    assert people.add(shop.owner, name="Ada", skills=[], week=WEEK, now=shop.now).key == "ada-2"


def test_the_last_one_who_can_do_a_stage_keeps_the_skill_while_it_is_in_the_queue(shop: Shop) -> None:
    shop.build_queued()
    fewer = [s for s in SKILLS if s != "balancing"]
    with pytest.raises(Refused, match="nobody can do “track”") as refused:
        people.change(shop.owner, shop.wes, name="Wes", skills=fewer, week=WEEK, user=None, now=shop.now)
    assert refused.value.field == "skills"
    assert "balancing" in shop.wes.skills


def test_taking_everybodys_hours_away_is_refused_at_the_hours(shop: Shop) -> None:
    shop.build_queued()
    with pytest.raises(Refused, match="working hours") as refused:
        people.change(shop.owner, shop.wes, name="Wes", skills=SKILLS, week=[[]] * 7, user=None, now=shop.now)
    assert refused.value.field == "week"
    assert any(shop.wes.week)


def test_the_only_one_at_the_bench_cannot_leave_while_orders_wait(shop: Shop) -> None:
    shop.build_queued()
    with pytest.raises(Refused, match="Not kept"):
        people.leave(shop.owner, shop.wes, now=shop.now)
    assert shop.wes.active


def test_an_absence_takes_its_days_out_of_the_calendar(shop: Shop) -> None:
    last = MONDAY + timedelta(days=2)
    gone = people.away(
        shop.owner, shop.wes, first_day=MONDAY, last_day=last, reason="flu", foreseen=False, now=shop.now
    )
    (wes,) = shop_of(MONDAY).persons
    assert (len(wes.away), gone.foreseen) == (3, False)
    with pytest.raises(Refused, match="written down already"):
        people.away(shop.owner, shop.wes, first_day=last, last_day=last, now=shop.now)
    with pytest.raises(Refused, match="before the first"):
        people.away(shop.owner, shop.wes, first_day=last, last_day=MONDAY, now=shop.now)


def test_sickness_round_a_day_already_known_adds_the_days_beside_it(shop: Shop) -> None:
    known = MONDAY + timedelta(days=2)
    people.away(shop.owner, shop.wes, first_day=known, last_day=known, reason="dentist", now=shop.now)
    people.away(
        shop.owner, shop.wes, first_day=MONDAY, last_day=MONDAY + timedelta(days=4), reason="flu",
        foreseen=False, now=shop.now,
    )  # fmt: skip
    rows = [
        ((r.first_day - MONDAY).days, (r.last_day - MONDAY).days, r.reason, r.foreseen)
        for r in Absence.objects.order_by("first_day")
    ]
    assert rows == [(0, 1, "flu", False), (2, 2, "dentist", True), (3, 4, "flu", False)]
    (wes,) = shop_of(MONDAY).persons
    assert len(wes.away) == 5


def test_coming_back_early_keeps_the_days_that_were_missed(shop: Shop) -> None:
    first = shop.today - timedelta(days=2)
    gone = people.away(
        shop.owner, shop.wes, first_day=first, last_day=first + timedelta(days=9), now=shop.now
    )
    people.back(shop.owner, gone, now=shop.now)
    gone.refresh_from_db()
    assert gone.last_day == shop.today - timedelta(days=1)
    ahead = people.away(shop.owner, shop.wes, first_day=shop.today, last_day=shop.today, now=shop.now)
    people.back(shop.owner, ahead, now=shop.now)
    assert Absence.objects.count() == 1


def test_a_machine_that_stages_need_stays_and_a_second_one_counts(shop: Shop) -> None:
    saw = Machine.objects.get()
    with pytest.raises(Refused, match="needed by rough-carve"):
        equipment.remove(shop.owner, saw, now=shop.now)
    equipment.change_machine(shop.owner, saw, name="Band saw", count=2, now=shop.now)
    assert shop_of(MONDAY).machines[0].count == 2


def test_a_machine_out_of_use_for_good_is_refused_when_work_needs_it(shop: Shop) -> None:
    shop.build_queued()
    saw, year = Machine.objects.get(), timedelta(days=366)
    equipment.out_of_use(shop.owner, saw, first_day=MONDAY, last_day=MONDAY + year, now=shop.now)
    saw.refresh_from_db()
    after = MONDAY + year + timedelta(days=1)
    with pytest.raises(Refused, match="out of use for good") as refused:
        equipment.out_of_use(shop.owner, saw, first_day=after, last_day=after + year, now=shop.now)
    assert refused.value.field == "last_day"
    assert equipment.spells_out(saw, MONDAY) == [(MONDAY, MONDAY + year)]
    equipment.in_use(shop.owner, saw, first_day=MONDAY, last_day=after, now=shop.now)
    saw.refresh_from_db()
    assert equipment.spells_out(saw, MONDAY) == []


@pytest.mark.parametrize("places", [0, 51])
def test_a_rack_has_a_sane_number_of_places(shop: Shop, places: int) -> None:
    with pytest.raises(Refused, match="from 1 to 50") as refused:
        equipment.change_rack(shop.owner, Rack.objects.get(), name="Hooks", capacity=places, now=shop.now)
    assert refused.value.field == "capacity"


def test_a_closure_of_a_year_is_told_of_and_two_in_a_row_are_refused(shop: Shop) -> None:
    year = timedelta(days=365)
    hours.close(shop.owner, first_day=MONDAY, last_day=MONDAY + year, reason="rebuilding", now=shop.now)
    (told,) = shop_check.troubles_of("closures", shop.now)
    assert "every date moves behind it" in told.message
    with pytest.raises(Refused, match="closed for good"):
        hours.close(
            shop.owner, first_day=MONDAY + year + timedelta(days=1), last_day=MONDAY + 2 * year, now=shop.now
        )
    assert Closure.objects.count() == 1


def test_holidays_follow_country_and_part(shop: Shop) -> None:
    hours.change_hours(
        shop.owner, opening=[], timezone="Europe/Berlin", country="DE", subdivision="BY", now=shop.now
    )
    assert date(2027, 1, 6) in holidays_of(Workshop.objects.get(), range(2027, 2028))  # Epiphany, in Bavaria
    assert date(2027, 1, 6) in shop_of(MONDAY).closed
    with pytest.raises(Refused, match="Parts of DE") as refused:
        hours.change_hours(
            shop.owner, opening=[], timezone="Europe/Berlin", country="DE", subdivision="XX", now=shop.now
        )
    assert refused.value.field == "holidays_subdivision"


@pytest.mark.parametrize(
    ("zone", "country", "field"), [("Mars/One", "DE", "timezone"), ("UTC", "QQ", "holidays_country")]
)
def test_zone_and_country_are_refused_at_their_fields(
    shop: Shop, zone: str, country: str, field: str
) -> None:
    with pytest.raises(Refused) as refused:
        hours.change_hours(
            shop.owner, opening=[], timezone=zone, country=country, subdivision="", now=shop.now
        )
    assert refused.value.field == field


def test_opening_hours_cut_everybodys_week() -> None:
    opening = [[[540, 960]]] * 5 + [[], []]
    assert within(WEEK, opening)[0] == [[540, 720], [780, 960]]
    assert within(WEEK, []) == WEEK


def test_drilling_never_comes_before_balancing(shop: Shop) -> None:
    drill = StageType.objects.get(key="drill")
    with pytest.raises(Refused, match="“balance” must come before “drill”"):
        stages.move(shop.owner, drill, earlier=True, now=shop.now)
    stamp = StageType.objects.get(key="stamp")
    stages.move(shop.owner, stamp, earlier=True, now=shop.now)
    order = list(StageType.objects.values_list("key", flat=True))
    assert order[order.index("balance") : order.index("edge-guard")] == ["balance", "stamp", "drill"]


def test_no_step_of_reordering_leaves_a_build_that_cannot_be_made(shop: Shop) -> None:
    for row in StageType.objects.all():
        for earlier in (True, False):
            row.refresh_from_db()
            try:
                stages.move(shop.owner, row, earlier=earlier, now=shop.now)
            except Refused:
                continue
            assert stages.offence(list(StageType.objects.values_list("key", flat=True))) is None
    positions = list(StageType.objects.values_list("position", flat=True))
    assert positions == list(range(1, 20))


def test_a_new_order_of_stages_reaches_builds_not_begun_and_orders_to_come(either: Shop) -> None:
    shop = either
    waiting, begun = shop.build_queued(), shop.queued()
    shop.build(begun, until="laminate")
    stages.move(shop.owner, StageType.objects.get(key="stamp"), earlier=True, now=shop.now)
    fresh = shop.order()

    def keys(order: Order) -> list[str]:
        return list(order.propellers.get().stages.values_list("key", flat=True))

    assert keys(waiting).index("stamp") < keys(waiting).index("drill")
    assert keys(fresh) == keys(waiting)
    assert keys(begun).index("stamp") > keys(begun).index("drill")


def test_a_stage_asks_for_another_skill_everywhere_it_is_still_to_come(shop: Shop) -> None:
    order = shop.build_queued()
    track = StageType.objects.get(key="track")
    stages.change(shop.owner, track, skill="inspection", machine=None, rack=None, now=shop.now)
    assert order.propellers.get().stages.get(key="track").skill == "inspection"
    BenchPerson.objects.update(skills=[s for s in SKILLS if s != "finishing"])
    with pytest.raises(Refused, match="nobody can do “track”"):
        stages.change(shop.owner, track, skill="finishing", machine=None, rack=None, now=shop.now)


def test_only_the_owner_edits_the_shop(shop: Shop) -> None:
    with pytest.raises(Refused) as refused:
        people.add(shop.at_bench, name="Ada", skills=[], week=WEEK, now=shop.now)
    assert refused.value.status == 403


def test_the_queue_reads_whole_after_every_edit(shop: Shop) -> None:
    shop.build_queued()
    values = shop_of(MONDAY)
    assert [len(o.tasks) for o in queue_of(Calendar(values))] == [19]
