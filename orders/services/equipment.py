"""Machines and racks: how many, how much they hold, when a machine is out of use."""

from datetime import date, datetime, timedelta

from orders.models import Machine, Rack
from orders.refusal import Refused
from orders.services.keys import free_key
from orders.services.shop_check import edited
from orders.who import Who

MOST = 50
LONGEST_OUT_DAYS = 366


def add_machine(who: Who, *, name: str, count: int, now: datetime) -> Machine:
    """A machine that one task occupies at a time; `count` of them side by side."""
    with edited(who, "add the machine", name, now=now):
        _sane(name, count, "count", taken=Machine.objects.filter(name__iexact=name.strip()).exists())
        keys = set(Machine.objects.values_list("key", flat=True))
        return Machine.objects.create(
            key=free_key(name, keys, otherwise="one"), name=name.strip(), count=count
        )


def change_machine(who: Who, machine: Machine, *, name: str, count: int, now: datetime) -> None:
    """Its name, and how many stand side by side."""
    with edited(who, "change the machine", machine.name, now=now, field="count"):
        same = Machine.objects.filter(name__iexact=name.strip()).exclude(pk=machine.pk)
        _sane(name, count, "count", taken=same.exists())
        Machine.objects.filter(pk=machine.pk).update(name=name.strip(), count=count)


def remove(who: Who, row: Machine | Rack, *, now: datetime) -> None:
    """Take a machine or rack out of the shop. Raises Refused while a stage is done on it or rests on it."""
    with edited(who, f"take away the {row._meta.verbose_name}", row.name, now=now):
        stages = list(row.stagetype_set.values_list("name", flat=True))
        if stages:
            raise Refused("in-use", f"{row.name} is needed by {', '.join(stages)}: change them first.")
        row.delete()


def out_of_use(who: Who, machine: Machine, *, first_day: date, last_day: date, now: datetime) -> None:
    """Days a machine stands still, both ends included."""
    if last_day < first_day:
        raise Refused("days", "The last day comes before the first.", status=400, field="last_day")
    if (last_day - first_day).days > LONGEST_OUT_DAYS:
        raise Refused("days", "At most a year at a time.", status=400, field="last_day")
    with edited(who, f"out of use {first_day} to {last_day}", machine.name, now=now, field="last_day"):
        days = {first_day + timedelta(days=n) for n in range((last_day - first_day).days + 1)}
        _set_days(machine, days | _days(machine))


def in_use(who: Who, machine: Machine, *, first_day: date, last_day: date, now: datetime) -> None:
    """Strike out days a machine was to stand still."""
    with edited(who, f"in use {first_day} to {last_day}", machine.name, now=now):
        _set_days(machine, {day for day in _days(machine) if not first_day <= day <= last_day})


def spells_out(machine: Machine, today: date) -> list[tuple[date, date]]:
    """Runs of days out of use that have not passed, as (first, last)."""
    spells: list[tuple[date, date]] = []
    for day in sorted(_days(machine)):
        if spells and day - spells[-1][1] == timedelta(days=1):
            spells[-1] = (spells[-1][0], day)
        else:
            spells.append((day, day))
    return [spell for spell in spells if spell[1] >= today]


def add_rack(who: Who, *, name: str, capacity: int, now: datetime) -> Rack:
    """Places held while something sets or dries."""
    with edited(who, "add the rack", name, now=now):
        _sane(name, capacity, "capacity", taken=Rack.objects.filter(name__iexact=name.strip()).exists())
        keys = set(Rack.objects.values_list("key", flat=True))
        return Rack.objects.create(
            key=free_key(name, keys, otherwise="one"), name=name.strip(), capacity=capacity
        )


def change_rack(who: Who, rack: Rack, *, name: str, capacity: int, now: datetime) -> None:
    """Its name, and how many places it has."""
    with edited(who, "change the rack", rack.name, now=now, field="capacity"):
        same = Rack.objects.filter(name__iexact=name.strip()).exclude(pk=rack.pk)
        _sane(name, capacity, "capacity", taken=same.exists())
        Rack.objects.filter(pk=rack.pk).update(name=name.strip(), capacity=capacity)


def _days(machine: Machine) -> set[date]:
    return set(map(date.fromisoformat, machine.out_of_use))


def _set_days(machine: Machine, days: set[date]) -> None:
    Machine.objects.filter(pk=machine.pk).update(out_of_use=sorted(day.isoformat() for day in days))


def _sane(name: str, number: int, field: str, *, taken: bool) -> None:
    if not name.strip():
        raise Refused("name", "Enter a name.", status=400, field="name")
    if taken:
        raise Refused("name", "There is one of this name already.", status=400, field="name")
    if not 1 <= number <= MOST:
        raise Refused("number", f"Enter a whole number from 1 to {MOST}.", status=400, field=field)
