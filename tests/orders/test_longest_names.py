"""The longest names the pages take go through every edit of the shop and every decision, on both databases."""

import ast
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from orders.models import (
    Absence,
    AuditRecord,
    BenchPerson,
    CalendarLink,
    Closure,
    Machine,
    OutboxJob,
    Rack,
    Stage,
    StageType,
)
from orders.services import calendar_links, decisions, equipment, hours, people, stages
from tests.orders.shop import SKILLS, Shop

WEEK = [[[480, 960]]] * 5 + [[], []]
SERVICES = Path(stages.__file__).parent


def longest(letter: str) -> str:
    return letter * 80


def others_name(shop: Shop) -> BenchPerson:
    return BenchPerson.objects.get_or_create(
        key="long", defaults={"name": longest("P"), "skills": SKILLS, "week": WEEK}
    )[0]


def machine() -> Machine:
    return Machine.objects.get_or_create(key="long", defaults={"name": longest("M")})[0]


def rack() -> Rack:
    return Rack.objects.get_or_create(key="long", defaults={"name": longest("R"), "capacity": 2})[0]


def stage_type() -> StageType:
    StageType.objects.filter(key="decal").update(name=longest("S"))
    return StageType.objects.get(key="decal")


def away(shop: Shop) -> Absence:
    day = shop.today + timedelta(days=30)
    return Absence.objects.create(person=others_name(shop), first_day=day, last_day=day)


def closure(shop: Shop) -> Closure:
    day = shop.today + timedelta(days=40)
    return Closure.objects.create(first_day=day, last_day=day)


def waiting_stage() -> Stage:
    Stage.objects.filter(key="decal").update(label=longest("L"))
    return Stage.objects.select_related("propeller__order").get(key="decal")


EDITS: dict[str, Callable[[Shop], object]] = {
    "people.add": lambda s: people.add(s.owner, name=longest("N"), skills=SKILLS, week=WEEK, now=s.now),
    "people.change": lambda s: people.change(
        s.owner, others_name(s), name=longest("Q"), skills=SKILLS, week=WEEK, user=None, now=s.now
    ),
    "people.leave": lambda s: people.leave(s.owner, others_name(s), now=s.now),
    "people.come_back": lambda s: people.come_back(s.owner, others_name(s), now=s.now),
    "people.away": lambda s: people.away(
        s.owner, others_name(s), first_day=s.today, last_day=s.today, reason=longest("W"), now=s.now
    ),
    "people.back": lambda s: people.back(s.owner, away(s), now=s.now),
    "equipment.add_machine": lambda s: equipment.add_machine(s.owner, name=longest("A"), count=1, now=s.now),
    "equipment.change_machine": lambda s: equipment.change_machine(
        s.owner, machine(), name=longest("B"), count=2, now=s.now
    ),
    "equipment.remove": lambda s: equipment.remove(s.owner, machine(), now=s.now),
    "equipment.out_of_use": lambda s: equipment.out_of_use(
        s.owner, machine(), first_day=s.today, last_day=s.today, now=s.now
    ),
    "equipment.in_use": lambda s: equipment.in_use(
        s.owner, machine(), first_day=s.today, last_day=s.today, now=s.now
    ),
    "equipment.add_rack": lambda s: equipment.add_rack(s.owner, name=longest("C"), capacity=1, now=s.now),
    "equipment.change_rack": lambda s: equipment.change_rack(
        s.owner, rack(), name=longest("D"), capacity=2, now=s.now
    ),
    "stages.change": lambda s: stages.change(
        s.owner, stage_type(), skill="finishing", machine=machine(), rack=rack(), now=s.now
    ),
    "stages.move": lambda s: stages.move(s.owner, stage_type(), earlier=True, now=s.now),
    "hours.change_hours": lambda s: hours.change_hours(
        s.owner, opening=[], timezone="America/Argentina/ComodRivadavia", country="DE", subdivision="BW",
        now=s.now,
    ),
    "hours.close": lambda s: hours.close(
        s.owner, first_day=s.today, last_day=s.today, reason=longest("Y"), now=s.now
    ),
    "hours.open_again": lambda s: hours.open_again(s.owner, closure(s), now=s.now),
    "decisions.fix": lambda s: decisions.fix(s.owner, waiting_stage(), person=others_name(s), now=s.now),
}  # fmt: skip
"""One call for every service that edits the shop inside `shop_check.edited`."""


def editors() -> set[str]:
    """Every function of a service that opens `edited(...)`."""
    return {
        f"{file.stem}.{function.name}"
        for file in SERVICES.glob("*.py")
        for function in ast.parse(file.read_text()).body
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "edited"
    }


def fits() -> None:
    """On SQLite, which cuts nothing and refuses nothing, the columns' own lengths are held against what is stored."""
    for row in AuditRecord.objects.all():
        row.clean_fields(exclude=["detail"])


def test_every_edit_of_the_shop_is_tried_here() -> None:
    assert editors() == set(EDITS)


@pytest.mark.parametrize("name", EDITS)
def test_an_edit_under_the_longest_names_is_kept_and_audited(either: Shop, name: str) -> None:
    either.order()
    before = AuditRecord.objects.count()
    OutboxJob.objects.all().delete()
    EDITS[name](either)
    assert AuditRecord.objects.count() == before + 1
    assert OutboxJob.objects.get(kind="replan").payload["reason"]
    fits()


def test_a_stage_of_an_order_without_a_serial_number_is_fixed_under_its_orders_number(either: Shop) -> None:
    order = either.order()
    assert order.propellers.get().serial is None
    decisions.fix(either.owner, waiting_stage(), person=either.wes, now=either.now)
    assert AuditRecord.objects.get(verb="fix").subject == f"{longest('L')} of {order.number}"
    decisions.undo(either.owner, now=either.later(minutes=1))
    assert Stage.objects.get(key="decal").locked_person is None


def test_a_calendar_link_of_the_longest_name_is_made_and_revoked(either: Shop) -> None:
    calendar_links.make(either.owner, others_name(either), now=either.now)
    calendar_links.revoke(either.owner, others_name(either), now=either.now)
    assert CalendarLink.objects.get().revoked_at == either.now
    fits()
