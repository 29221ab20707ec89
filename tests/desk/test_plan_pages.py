"""The plan at the desk: what it says, how old it is, and every decision by form, with its refusal at the field."""

import itertools
from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.core.cache import caches
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from orders.desk.day_sheet import own_day
from orders.models import BenchPerson, Order, OutboxJob, PlanDecision, PlanQuestion, PlanVersion, Stage
from orders.services import bench, hours
from orders.services.planned import reading
from quoting.models import PlanOutlook
from tests.kit.databases import SQLiteFile
from tests.kit.planned_shop import plan_once
from tests.orders.shop import Shop


@pytest.fixture
def shop(planned_template: SQLiteFile, django_db_blocker) -> Iterator[Shop]:
    caches["here"].clear()
    with django_db_blocker.unblock(), planned_template.fresh():
        yield Shop(now=timezone.now())


def get(client: Client, door: str, /, *args: object, **asked: object) -> str:
    response = client.get(reverse(f"desk:{door}", args=args), asked)
    assert response.status_code == 200, response
    return response.content.decode()


def post(client: Client, door: str, /, *args: object, **typed: object):
    return client.post(reverse(f"desk:{door}", args=args), typed, follow=True)


def a_stage(key: str = "sand") -> Stage:
    return (
        Stage.objects.filter(key=key)
        .order_by("propeller__order__number")
        .select_related("propeller__order")[1]
    )


def test_the_calendar_has_everybody_the_days_and_the_work(owner: Client) -> None:
    page = get(owner, "plan")
    assert page.count("<tr data-person=") == BenchPerson.objects.count()
    serials = Order.objects.values_list("propellers__serial", flat=True)
    assert all(serial in page for serial in serials)
    assert f"of {timezone.localtime(PlanVersion.objects.get().as_of):%Y-%m-%d %H:%M}" in page


def test_what_is_late_stands_first_by_word(owner: Client) -> None:
    page = get(owner, "plan")
    late = Order.objects.get(promise__lt=timezone.localdate())
    assert "1 promise is not kept" in page
    assert late.number in page[page.index('id="late"') : page.index('id="wall-name"')]
    assert "Most in demand:" in page


def test_work_stands_only_in_hours_somebody_works(shop: Shop) -> None:
    read = reading()
    assert read is not None
    work, _rests = read.between(shop.today, shop.today + timedelta(days=200))
    people = {p.key: p for p in read.shop.persons}
    assert work
    for stretch in work:
        shifts = read.calendar.shifts(people[stretch.person], stretch.day)
        assert any(opens <= stretch.begin < stretch.end <= closes for opens, closes in shifts)
    for stage in Stage.objects.filter(minutes__gt=0):
        if stage.key != "rest":
            assert any(stretch.stage.pk == stage.pk for stretch in work), stage.key


def test_the_page_asks_no_more_of_the_database_for_more_orders(owner: Client, shop: Shop) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as captured:
            get(owner, "plan")
        return len(captured)

    get(owner, "plan")
    few = queries()
    for _ in range(4):
        shop.build_queued()
    plan_once()
    assert queries() <= few
    assert few <= 45


def test_a_sheet_of_later_days_is_asked_for_by_the_day(owner: Client) -> None:
    later = timezone.localdate() + timedelta(days=28)
    page = get(owner, "plan", **{"from": later.isoformat()})
    assert f'data-day="{timezone.localdate().isoformat()}"' not in page
    assert "From today" in page
    assert get(owner, "plan", **{"from": "no day"}) and get(owner, "plan", **{"from": "9999-12-31"})


def test_a_plan_that_waits_for_a_dead_worker_says_its_age(owner: Client, shop: Shop) -> None:
    long_ago = timezone.now() - timedelta(hours=3)
    PlanVersion.objects.update(as_of=long_ago)
    assert "does not answer" not in get(owner, "plan")
    OutboxJob.objects.create(kind="replan", due_at=long_ago, created_at=long_ago)
    page = get(owner, "plan")
    assert "The worker does not answer." in page
    assert "3\N{NO-BREAK SPACE}hours old" in page


def test_news_of_a_newer_plan_loads_the_page_afresh(owner: Client) -> None:
    plan = PlanVersion.objects.get()
    same = owner.get(reverse("desk:plan-news"), {"version": f"{plan.pk}.{plan.as_of.timestamp():.0f}"})
    assert "HX-Refresh" not in same.headers
    assert owner.get(reverse("desk:plan-news"), {"version": "0.0"}).headers["HX-Refresh"] == "true"


def test_a_stage_is_fixed_freed_and_undone_by_form(owner: Client) -> None:
    stage, day = a_stage(), timezone.localdate() + timedelta(days=40)
    assert "being made anew" in post(owner, "plan-fix", stage.pk, person="ada", day=day).content.decode()
    stage.refresh_from_db()
    assert stage.locked_person and stage.locked_person.key == "ada"
    assert "fixed to Ada" in get(owner, "plan")
    post(owner, "plan-fix", stage.pk)
    stage.refresh_from_db()
    assert (stage.locked_person, stage.not_before) == (None, None)
    post(owner, "plan-undo")
    stage.refresh_from_db()
    assert stage.not_before and timezone.localdate(stage.not_before) == day


def test_somebody_who_cannot_do_it_and_a_day_gone_by_are_refused_at_their_fields(owner: Client) -> None:
    stage = a_stage("inspect")
    wrong = owner.post(reverse("desk:plan-fix", args=[stage.pk]), {"person": "ada", "day": "2020-01-01"})
    assert wrong.status_code == 422
    assert wrong.context["form"].errors.keys() == {"person", "day"}
    past = owner.post(
        reverse("desk:plan-fix", args=[stage.pk]), {"day": timezone.localdate() - timedelta(days=2)}
    )
    assert "to come" in str(past.context["form"].errors["day"])
    assert not PlanDecision.objects.exists()


def test_keys_send_the_same_decisions_and_come_back_to_the_same_sheet(owner: Client, shop: Shop) -> None:
    stage, first = a_stage(), timezone.localdate() + timedelta(days=14)
    response = owner.post(
        reverse("desk:plan-key"), {"stage": stage.pk, "do": "fix", "person": "ada", "day": "", "from": first}
    )
    assert response.headers["Location"] == f"{reverse('desk:plan')}?from={first}"
    day = timezone.localdate() + timedelta(days=30)
    post(owner, "plan-key", stage=stage.pk, do="fix", person="", day=day)
    stage.refresh_from_db()
    assert stage.locked_person and stage.locked_person.key == "ada"  # moving the day keeps the person
    order = stage.propeller.order
    post(owner, "plan-key", stage=stage.pk, do="sooner")
    order.refresh_from_db()
    assert order.rank == 1
    post(owner, "plan-key", stage=stage.pk, do="free")
    stage.refresh_from_db()
    assert stage.not_before is None
    assert "not there any more" in post(owner, "plan-key", stage="x", do="free").content.decode()


def test_an_order_is_ranked_and_held_on_its_page(owner: Client) -> None:
    orders = list(Order.objects.order_by("promise"))
    post(owner, "plan-before", orders[3].number, before=orders[0].number)
    assert "1 of 4, by a rank of yours" in get(owner, "plan-order", orders[3].number)
    wrong = owner.post(reverse("desk:plan-hold", args=[orders[1].number]), {"reason": " "})
    assert wrong.status_code == 422
    post(owner, "plan-hold", orders[1].number, reason="hub on its way")
    assert "hub on its way" in get(owner, "plan")
    post(owner, "plan-take-up", orders[1].number)
    assert not Order.objects.filter(state="held").exists()
    post(owner, "plan-all-by-promise")
    assert not Order.objects.exclude(rank=None).exists()


def test_the_bench_reads_the_plan_and_decides_nothing(bench: Client) -> None:
    page = get(bench, "plan")
    assert "by-key" not in page
    assert reverse("desk:plan-stage", args=[a_stage().pk]) not in page


def test_a_day_sheet_holds_the_days_work_of_everybody(owner: Client, shop: Shop) -> None:
    read = reading()
    assert read is not None
    work, _rests = read.between(shop.today, shop.today + timedelta(days=30))
    stretch = work[-1]
    page = get(owner, "day-sheet", stretch.person, day=stretch.day.isoformat())
    assert f"{stretch.begin // 60:02d}:{stretch.begin % 60:02d}" in page
    assert stretch.stage.propeller.serial in page
    assert get(owner, "day-sheets").count("own-page") == BenchPerson.objects.count()


def test_work_the_bench_may_not_touch_yet_says_so_and_names_what_can_be_done_instead(
    owner: Client, shop: Shop
) -> None:
    read = reading()
    assert read is not None
    work, _rests = read.between(shop.today, shop.today + timedelta(days=30))
    by_day: dict[tuple[object, str], list] = {}
    for stretch in work:
        by_day.setdefault((stretch.day, stretch.person), []).append(stretch)
    day, person, barred, free = next(
        (day, person, rows[0], other)
        for (day, person), rows in by_day.items()
        for other in rows
        if other.stage.propeller.order_id != rows[0].stage.propeller.order_id
    )
    asked = {"day": day.isoformat()}
    assert "not yet" not in get(owner, "day-sheet", person, **asked)
    Order.objects.filter(pk=barred.stage.propeller.order_id).update(state=Order.State.WAITING)
    page = get(owner, "day-sheet", person, **asked)
    assert "only once deposit and approval have come" in page
    assert page.count(reverse("desk:stage", args=[free.stage.pk])) >= 2


def test_the_bench_page_shows_ones_own_day(bench: Client, shop: Shop) -> None:
    assert "Your day by the plan" in get(bench, "bench")


def test_a_day_without_work_names_the_next_that_has_some(shop: Shop) -> None:
    read = reading()
    assert read is not None
    days = sorted(
        {s.day for s in read.between(shop.today, shop.today + timedelta(days=60))[0] if s.person == "wes"}
    )
    free = days[0] - timedelta(days=1)
    own = own_day(shop.wes, free)
    assert own is not None and (own.jobs, own.next_day) == ([], days[0])
    busy = own_day(shop.wes, days[0])
    assert busy is not None and busy.jobs and busy.next_day is None


def test_a_job_before_and_after_the_break_is_one_row_of_the_day(shop: Shop) -> None:
    read = reading()
    assert read is not None
    work = read.between(shop.today, shop.today + timedelta(days=60))[0]
    split = next(
        (one, other)
        for one, other in itertools.combinations(work, 2)
        if (one.stage, one.day) == (other.stage, other.day)
    )
    own = own_day(BenchPerson.objects.get(key=split[0].person), split[0].day)
    assert own is not None and list(split) in own.jobs
    assert len({job[0].stage.pk for job in own.jobs}) == len(own.jobs)


def test_the_bench_page_says_when_ones_next_work_is(bench: Client, shop: Shop) -> None:
    own = own_day(shop.wes, shop.today)
    assert own is not None
    page = get(bench, "bench")
    assert ("Nothing is planned for you today." in page) == (not own.jobs)
    if own.next_day:
        assert f"?day={own.next_day:%Y-%m-%d}" in page and f"{own.next_day:%A}" in page


def test_a_begun_stage_is_marked_and_cannot_be_moved(owner: Client, shop: Shop) -> None:
    stage = a_stage("condition")
    bench.start_stage(shop.at_bench, stage, shop.wes, now=timezone.now())
    assert "Begun work stays where it is." in get(owner, "plan-stage", stage.pk)
    assert "begun work stays" in post(owner, "plan-key", stage=stage.pk, do="fix", day="").content.decode()


def test_a_question_is_asked_and_its_page_follows_it(owner: Client) -> None:
    first = timezone.localdate() + timedelta(days=1)
    typed = {"person": "wes", "first_day": first, "last_day": first + timedelta(days=9)}
    page = post(owner, "ask", "away", **typed).content.decode()
    assert "What if Wes is away" in page
    assert 'hx-trigger="every 1s"' in page
    row = PlanQuestion.objects.get()
    post(owner, "question-cancel", row.pk)
    assert "It was given up." in get(owner, "question", row.pk)
    wrong = owner.post(reverse("desk:ask", args=["away"]), {**typed, "last_day": first - timedelta(days=1)})
    assert (wrong.status_code, "comes before" in wrong.content.decode()) == (422, True)


def test_a_link_fills_the_question_in(owner: Client, shop: Shop) -> None:
    order = Order.objects.order_by("number").last()
    asked = shop.enquiry()
    page = get(owner, "what-if", rush=order.number)
    assert f'value="{order.number}" selected' in page
    assert f'value="{asked.number}" selected' in get(owner, "what-if", accept=asked.number)


def test_a_longer_search_is_asked_for_once(owner: Client) -> None:
    assert "A longer search for a plan" in post(owner, "search", seconds="20").content.decode()
    assert "under way" in post(owner, "search", seconds="20").content.decode()
    assert "A longer search is under way." in get(owner, "plan")
    assert PlanQuestion.objects.count() == 1
    assert "Choose one of the lengths" in post(owner, "search", seconds="9999").content.decode()


def test_the_morning_sheet_names_what_is_late_and_what_will_be(owner: Client, shop: Shop) -> None:
    late = Order.objects.get(promise__lt=shop.today)
    coming = Order.objects.order_by("promise")[1]
    Order.objects.filter(pk=coming.pk).update(promise=shop.today + timedelta(days=1))
    page = get(owner, "morning")
    assert late.number in page
    assert "but plan on" in page[: page.index(coming.number)]
    assert "Overload" not in page


def test_the_morning_sheet_sounds_the_overload_alarm(owner: Client) -> None:
    newest = PlanOutlook.objects.first()
    PlanOutlook.objects.create(
        version="over",
        as_of=timezone.now(),
        outlook={**newest.outlook, "version": "over", "overloaded": True},
    )
    assert "Overload:" in get(owner, "morning")
    assert "Overload: more work arrives" in get(owner, "calibration")


def test_a_plan_that_cannot_be_made_stands_as_it_was_with_the_cause(owner: Client, shop: Shop) -> None:
    before = PlanVersion.objects.get()
    BenchPerson.objects.update(week=[[]] * 7)
    plan_once()
    page = get(owner, "plan")
    assert PlanVersion.objects.get(current=True).plan == before.plan
    assert "No new plan can be made; the last good one stands." in page
    assert "Nobody has working hours" in get(owner, "shop")


def test_the_review_leads_to_what_accepting_would_do(owner: Client, shop: Shop) -> None:
    asked = shop.enquiry()
    page = get(owner, "review", asked.number)
    assert f"{reverse('desk:what-if')}?accept={asked.number}" in page


def test_closed_days_of_the_sheet_are_told_as_one_spell(owner: Client, shop: Shop) -> None:
    monday = shop.today + timedelta(days=21 - shop.today.weekday())
    hours.close(
        shop.owner, first_day=monday, last_day=monday + timedelta(days=8), reason="moving", now=shop.now
    )
    plan_once()
    page = get(owner, "plan", **{"from": (monday - timedelta(days=4)).isoformat()})
    last = monday + timedelta(days=8)
    assert f"{monday:%a} {monday.day} {monday:%b} to {last:%a} {last.day} {last:%b}, moving" in page
    assert f'data-day="{monday.isoformat()}"' not in page
