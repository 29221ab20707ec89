"""Opening a workshop: its own entry, its people and their sign-ins, machines, racks, stages; and a first price book."""

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.contrib.auth.models import Group, User
from django.db import transaction

from orders.models import BenchPerson, Machine, Rack, StageType, Workshop
from orders.refusal import Refused
from orders.who import BENCH, BOOKKEEPER, OWNER
from quoting.models import FreightZone, TaxRate
from quoting.pricing.money import EXPONENTS
from quoting.propeller.build import STAGES
from quoting.services.pricebook import draft_book, put_in_force

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def week_of(words: str) -> list[list[list[int]]]:
    """Working minutes by weekday, Monday first, from words such as "mon-fri 08:00-12:00 13:00-17:00".

    Raises Refused naming what would be accepted.
    """
    days, *spans = words.split()
    first, _, last = days.partition("-")
    try:
        here = range(DAYS.index(first), DAYS.index(last or first) + 1)
        hours = [[_minute(a), _minute(b)] for a, b in (span.split("-") for span in spans)]
    except ValueError:
        raise Refused(
            "week", 'Write hours like "mon-fri 08:00-12:00 13:00-17:00".', status=400, field="week"
        ) from None
    return [hours if day in here else [] for day in range(7)]


def _minute(clock: str) -> int:
    hour, minute = clock.split(":")
    return int(hour) * 60 + int(minute)


def zone_of(name: str) -> ZoneInfo:
    """The time zone of a name. Raises Refused naming what would be accepted."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(
            "timezone", "Enter a zone such as Europe/Berlin.", status=400, field="timezone"
        ) from None


@transaction.atomic
def open_workshop(
    *,
    name: str,
    country: str,
    currency: str,
    timezone: str,
    street: str = "",
    postcode: str = "",
    city: str = "",
    email: str = "",
    phone: str = "",
    tax_id: str = "",
    bank_details: str = "",
) -> Workshop:
    """The workshop's own row and the three roles. Raises Refused at the field, or when there is a workshop already."""
    if Workshop.objects.exists():
        raise Refused("open-already", "There is a workshop in this database already.")
    if currency not in EXPONENTS:
        raise Refused(
            "currency", f"Choose a currency of {', '.join(sorted(EXPONENTS))}.", status=400, field="currency"
        )
    if len(country) != 2 or not country.isascii() or not country.isalpha():
        raise Refused("country", "Enter the country's two letters, such as DE.", status=400, field="country")
    zone_of(timezone)
    for role in (OWNER, BENCH, BOOKKEEPER):
        Group.objects.get_or_create(name=role)
    return Workshop.objects.create(
        name=name,
        street=street,
        postcode=postcode,
        city=city,
        country=country.upper(),
        email=email,
        phone=phone,
        tax_id=tax_id,
        bank_details=bank_details,
        currency=currency,
        timezone=timezone,
        holidays_country=country.upper(),
    )


def add_sign_in(name: str, email: str, roles: list[str], password: str | None) -> User:
    """A member of the workshop who may sign in; without a password by mailed code only."""
    first, _, last = name.partition(" ")
    user = User(username=email.lower(), email=email.lower(), first_name=first, last_name=last)
    user.is_staff = OWNER in roles
    if password:
        user.set_password(password)
    else:
        user.set_unusable_password()
    user.save()
    user.groups.set(Group.objects.filter(name__in=roles))
    return user


def add_person(key: str, name: str, skills: list[str], week: str, user: User | None) -> BenchPerson:
    """Somebody at the bench with skills and hours."""
    return BenchPerson.objects.create(key=key, name=name, skills=skills, week=week_of(week), user=user)


@transaction.atomic
def lay_out_shop(machines: list[Mapping[str, Any]], racks: list[Mapping[str, Any]]) -> None:
    """Machines, racks and every stage of the build in order, on its usual machine and rack where the shop has them."""
    at = {row["key"]: Machine.objects.create(key=row["key"], name=row["name"]) for row in machines}
    on = {
        row["key"]: Rack.objects.create(key=row["key"], name=row["name"], capacity=row["capacity"])
        for row in racks
    }
    for position, stage in enumerate(STAGES.values(), start=1):
        StageType.objects.create(
            key=stage.key,
            name=stage.name,
            position=position,
            skill=stage.skill,
            machine=at.get(stage.machine),
            rack=on.get(stage.rack),
        )


@transaction.atomic
def first_price_book(path: Path, currency: str, effective_from: date) -> None:
    """Put the price book of a file in force: a start that the owner redrafts."""
    book = json.loads(path.read_text())
    version = draft_book(book["version"], currency, book["entries"], remark=book["basis"])
    put_in_force(version, effective_from)


def add_tax(country: str, code: str, label: str, percent_milli: int, valid_from: date) -> TaxRate:
    """One rate of the owner's tax table."""
    return TaxRate.objects.create(
        country=country, code=code, label=label, percent_milli=percent_milli, valid_from=valid_from
    )


def add_freight_zone(code: str, name: str, order: int, countries: list[str], days: int) -> FreightZone:
    """One freight zone; its rates stand in the price book under its code."""
    return FreightZone.objects.create(code=code, name=name, order=order, countries=countries, days=days)
