"""The shop model at the desk: what is typed is kept and told at its field, what is kept stands on the pages."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from orders.desk.shop_forms import HoursField, day_words
from orders.models import Absence, BenchPerson, Closure, Machine, OutboxJob, Rack, StageType, Workshop
from tests.orders.shop import SKILLS, Shop

WEEK = {f"day{n}": "08:00-12:00 13:00-17:00" for n in range(5)} | {"day5": "", "day6": ""}


def post(client: Client, door: str, /, *args: object, **typed: object):
    return client.post(reverse(f"desk:{door}", args=args), typed)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("08:00-12:00 13:00-17:00", [[480, 720], [780, 1020]]),
        ("13:00-17:00, 8-12", [[480, 720], [780, 1020]]),
        ("08:00 - 12:00", [[480, 720]]),
        ("", []),
        ("20:00-24:00", [[1200, 1440]]),
    ],
)
def test_hours_are_read_as_they_are_written(typed: str, kept: list[list[int]]) -> None:
    assert HoursField().clean(typed) == kept
    assert HoursField().clean(day_words(kept)) == kept


@pytest.mark.parametrize(
    "typed", ["8 to 12", "12:00-08:00", "08:00-12:00 11:00-13:00", "08:60-09:00", "20:00-25:00", "²-³"]
)
def test_hours_that_cannot_be_are_told_at_the_day_with_all_that_was_typed(
    owner: Client, shop: Shop, typed: str
) -> None:
    response = post(owner, "person-add", name="Ada Finch", skills=["carving"], **{**WEEK, "day2": typed})
    assert response.status_code == 422
    assert response.context["form"].errors.keys() == {"day2"}
    assert "Ada Finch" in response.content.decode()
    assert BenchPerson.objects.count() == 1


def test_somebody_is_added_and_found_on_the_page(owner: Client, shop: Shop) -> None:
    response = post(owner, "person-add", name="Ada Finch", skills=["carving"], **WEEK)
    assert response.status_code == 302
    page = owner.get(reverse("desk:people")).content.decode()
    assert "Ada Finch" in page
    assert "40\N{NO-BREAK SPACE}h" in page
    assert OutboxJob.objects.filter(kind="replan", state="waiting").exists()


def test_what_would_break_the_plan_is_said_at_the_field_and_nothing_is_lost(
    owner: Client, shop: Shop
) -> None:
    shop.queued()
    fewer = [skill for skill in SKILLS if skill != "drilling"]
    response = post(owner, "person-change", "wes", name="Wesley", skills=fewer, **WEEK)
    assert response.status_code == 422
    assert "nobody can do" in str(response.context["form"].errors["skills"])
    assert 'value="Wesley"' in response.content.decode()
    assert BenchPerson.objects.get().name == "Wes"


def test_an_absence_is_written_down_and_struck_out(owner: Client, shop: Shop) -> None:
    ahead = timezone.localdate() + timedelta(days=10)
    typed = {"first_day": ahead, "last_day": ahead, "reason": "wedding", "foreseen": "yes"}
    assert post(owner, "absence", "wes", **typed).status_code == 302
    assert "wedding" in owner.get(reverse("desk:person", args=["wes"])).content.decode()
    again = post(owner, "absence", "wes", **typed)
    assert "written down already" in str(again.context["absence"].errors["first_day"])
    assert post(owner, "absence-back", "wes", Absence.objects.get().pk).status_code == 302
    assert not Absence.objects.exists()


def test_a_wrong_day_stays_in_its_box(owner: Client, shop: Shop) -> None:
    response = post(owner, "absence", "wes", first_day="31.12.2026", last_day="", reason="skiing")
    form = response.context["absence"]
    assert form.errors.keys() == {"first_day", "last_day", "foreseen"}
    assert "31.12.2026" in response.content.decode()
    assert "skiing" in response.content.decode()


def test_sickness_is_not_taken_for_leave(owner: Client, shop: Shop) -> None:
    ahead = timezone.localdate() + timedelta(days=10)
    days = {"first_day": ahead, "last_day": ahead}
    assert "foreseen" in post(owner, "absence", "wes", **days).context["absence"].errors
    assert post(owner, "absence", "wes", **days, foreseen="no").status_code == 302
    assert not Absence.objects.get().foreseen


def test_the_shop_closes_and_opens_again(owner: Client, shop: Shop) -> None:
    ahead = timezone.localdate() + timedelta(days=10)
    assert post(owner, "close", first_day=ahead, last_day=ahead, reason="stocktaking").status_code == 302
    assert "stocktaking" in owner.get(reverse("desk:shop")).content.decode()
    post(owner, "open-again", Closure.objects.get().pk)
    assert not Closure.objects.exists()


def test_a_closure_of_a_year_is_named_on_the_page_that_mends_it(owner: Client, shop: Shop) -> None:
    first = timezone.localdate() + timedelta(days=1)
    post(owner, "close", first_day=first, last_day=first + timedelta(days=364))
    page = owner.get(reverse("desk:shop")).content.decode()
    assert "every date moves behind it" in page


def test_opening_hours_and_zone_are_kept(owner: Client, shop: Shop) -> None:
    typed = {**WEEK, "timezone": "Europe/Paris", "holidays_country": "fr", "holidays_subdivision": ""}
    assert post(owner, "hours", **typed).status_code == 302
    row = Workshop.objects.get()
    assert (row.timezone, row.holidays_country, row.opening[0]) == (
        "Europe/Paris",
        "FR",
        [[480, 720], [780, 1020]],
    )
    wrong = post(owner, "hours", **{**typed, "timezone": "Paris"})
    assert "Europe/Berlin" in str(wrong.context["form"].errors["timezone"])


def test_a_second_machine_and_more_hooks(owner: Client, shop: Shop) -> None:
    assert post(owner, "machine-change", "bandsaw", name="Band saw", count="2").status_code == 302
    assert post(owner, "rack-change", "hooks", name="Hooks", capacity="6").status_code == 302
    assert (Machine.objects.get().count, Rack.objects.get().capacity) == (2, 6)
    assert post(owner, "machine-add", name="Lathe", count="1").status_code == 302
    wrong = post(owner, "rack-change", "hooks", name="Hooks", capacity="none")
    assert wrong.status_code == 422
    assert 'value="none"' in wrong.content.decode()


def test_a_stage_moves_where_the_work_allows_and_says_why_not(owner: Client, shop: Shop) -> None:
    post(owner, "stage-move", "stamp", "earlier")
    keys = list(StageType.objects.values_list("key", flat=True))
    assert keys.index("stamp") < keys.index("drill")
    response = owner.post(reverse("desk:stage-move", args=["varnish", "earlier"]), follow=True)
    assert "must come before" in response.content.decode()


def test_a_stage_takes_another_machine(owner: Client, shop: Shop) -> None:
    post(owner, "stage-change", "sand", skill="carving", machine=Machine.objects.get().pk, rack="")
    assert StageType.objects.get(key="sand").machine == Machine.objects.get()
