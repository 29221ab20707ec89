"""Enquiries: stored as typed with the instant answer, asked back, answered, declined, withdrawn."""

import secrets
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.models import Customer, Enquiry, Message, Order
from orders.refusal import Refused
from orders.services import audit, exact_dates, letters
from orders.who import OWNER, Who
from quoting.services.estimating import lacking
from quoting.services.numbering import take_number

S = Enquiry.State
LONGEST_TEXT = 5000
ADDRESS_FIELDS = ("name", "email", "phone", "street", "postcode", "city", "region", "country", "tax_id")


@transaction.atomic
def store_enquiry(
    who: Who,
    *,
    typed: dict[str, Any],
    specification: dict[str, Any] | None,
    estimate: dict[str, Any] | None,
    address: dict[str, Any],
    language: str,
    now: datetime,
) -> Enquiry:
    """Store an enquiry and mail its link. `address` has name and email at least.

    A known address is attached to its customer, whose own entry is not touched: whoever types an address has not
    shown that it is theirs.
    """
    address = {field: str(address.get(field) or "").strip() for field in ADDRESS_FIELDS}
    for field in ("name", "email"):
        if not address[field]:
            raise Refused(f"{field}-missing", f"Enter your {field}.", status=400, field=field)
    customer = find_or_add_customer(address, language=language, now=now)
    year = timezone.localdate(now).year
    enquiry = Enquiry.objects.create(
        number=f"E-{year}-{take_number(f'enquiry {year}'):04d}",
        token=secrets.token_urlsafe(32),
        customer=customer,
        typed=typed,
        specification=specification,
        estimate=estimate,
        address=address,
        language=language,
        created_at=now,
        changed_at=now,
    )
    audit.record(who, "enquire", f"enquiry {enquiry.number}", now=now, after=S.NEW)
    exact_dates.ask(enquiry, now=now)
    letters.enquiry_stored(enquiry, now=now)
    letters.alert_owner(
        f"New enquiry {enquiry.number}", f"{customer.name} asks for a propeller.", now=now, about=enquiry
    )
    return enquiry


def find_or_add_customer(address: dict[str, str], *, language: str, now: datetime) -> Customer:
    """The customer of an e-mail address, made when new; assumes the caller's transaction."""
    known = Customer.objects.filter(email__iexact=address["email"]).first()
    if known:
        return known
    try:
        with transaction.atomic():
            return Customer.objects.create(**address, language=language, created_at=now)
    except IntegrityError:
        return Customer.objects.get(email__iexact=address["email"])


@transaction.atomic
def change_enquiry(
    who: Who,
    enquiry: Enquiry,
    *,
    typed: dict[str, Any],
    specification: dict[str, Any] | None,
    estimate: dict[str, Any] | None,
    address: dict[str, Any],
    now: datetime,
) -> Enquiry:
    """The customer resumed the enquiry by its link and changed it, while no quote is out.

    The e-mail address stays: the link was sent there, and whoever holds it has shown no other.
    """
    kept = {field: str(address.get(field) or "").strip() for field in ADDRESS_FIELDS}
    kept["email"] = enquiry.address["email"]
    if not kept["name"]:
        raise Refused("name-missing", "Enter your name.", status=400, field="name")
    changed = Enquiry.objects.filter(pk=enquiry.pk, state__in=[S.NEW, S.ASKED_BACK]).update(
        typed=typed,
        specification=specification,
        estimate=estimate,
        address=kept,
        changed_at=now,
        state=S.NEW,
        question="",
    )
    if changed != 1:
        raise Refused("wrong-state", f"This enquiry is {enquiry.state}; it cannot be changed any more.")
    enquiry.refresh_from_db()
    audit.record(who, "change", f"enquiry {enquiry.number}", now=now, after=S.NEW)
    exact_dates.ask(enquiry, now=now)
    letters.alert_owner(
        f"Enquiry {enquiry.number} changed",
        f"{kept['name']} changed what they ask for.",
        now=now,
        about=enquiry,
    )
    return enquiry


def question_about(enquiry: Enquiry) -> str:
    """What to ask the customer for, who left open what a price and a date need; "" when nothing is open."""
    open_still = lacking(enquiry.typed) if enquiry.is_open else ()
    if not open_still:
        return ""
    needed = "\n".join(f"- {finding.message}" for finding in open_still)
    return _(
        "To work out a price and a date we need to know more:\n%(needed)s\nFill it in under “Change what I asked”, or tell "
        "us why you cannot know it."
    ) % {"needed": needed}


@transaction.atomic
def ask_back(who: Who, enquiry: Enquiry, *, question: str, now: datetime) -> None:
    """Ask the customer something; the enquiry waits for the answer."""
    who.must_be(OWNER)
    question = sane(question, "question", "Write the question.")
    _move(who, enquiry, (S.NEW, S.ASKED_BACK), S.ASKED_BACK, now=now, reason=question, question=question)
    Message.objects.create(
        enquiry=enquiry,
        side=Message.Side.WORKSHOP,
        user=who.user,
        name=who.name[:120],
        body=question,
        written_at=now,
    )
    letters.enquiry_asked_back(enquiry, now=now)


@transaction.atomic
def answer(who: Who, enquiry: Enquiry, *, text: str, now: datetime) -> None:
    """The customer answers; the enquiry is the owner's again."""
    text = sane(text, "text", "Write your answer.")
    _move(who, enquiry, (S.ASKED_BACK,), S.NEW, now=now, question="")
    Message.objects.create(
        enquiry=enquiry,
        side=Message.Side.CUSTOMER,
        user=who.user,
        name=who.name[:120],
        body=text,
        written_at=now,
    )
    letters.alert_owner(f"Answer on enquiry {enquiry.number}", text, now=now, about=enquiry)


@transaction.atomic
def decline(who: Who, enquiry: Enquiry, *, reason: str, now: datetime) -> None:
    """The owner cannot make it, and says why."""
    who.must_be(OWNER)
    reason = sane(reason, "reason", "Say why.")
    _move(who, enquiry, (S.NEW, S.ASKED_BACK), S.DECLINED, now=now, reason=reason)
    letters.enquiry_declined(enquiry, now=now)


@transaction.atomic
def withdraw(who: Who, enquiry: Enquiry, *, now: datetime, reason: str = "") -> None:
    """The customer no longer wants it."""
    _move(who, enquiry, (S.NEW, S.ASKED_BACK), S.WITHDRAWN, now=now, reason=reason[:LONGEST_TEXT])


def _move(
    who: Who,
    enquiry: Enquiry,
    origins: tuple[str, ...],
    to: str,
    *,
    now: datetime,
    reason: str = "",
    **changes: Any,
) -> None:
    if to in (S.DECLINED, S.WITHDRAWN) and Order.objects.filter(enquiry=enquiry).exists():
        raise Refused("ordered", f"An order follows enquiry {enquiry.number}; it ends with that order.")
    before = enquiry.state
    changes |= {"reason": reason} if to in (S.DECLINED, S.WITHDRAWN) else {}
    moved = Enquiry.objects.filter(pk=enquiry.pk, state__in=origins).update(
        state=to, changed_at=now, **changes
    )
    if moved != 1:
        enquiry.refresh_from_db()
        raise Refused("wrong-state", f"Enquiry {enquiry.number} is {enquiry.state}.")
    enquiry.refresh_from_db()
    audit.record(who, to, f"enquiry {enquiry.number}", now=now, before=before, after=to, reason=reason)


def sane(text: str, field: str, missing: str) -> str:
    """Stripped text of at most 5000 characters; Refused at the field otherwise."""
    text = text.strip()
    if not text:
        raise Refused(f"{field}-missing", missing, status=400, field=field)
    if len(text) > LONGEST_TEXT:
        raise Refused(f"{field}-long", f"Write at most {LONGEST_TEXT} characters.", status=400, field=field)
    return text
