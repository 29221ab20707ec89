"""Quotes: reviewed, sent, revised, accepted, declined, lapsed. A sent quote never changes; it is accepted once or never."""

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from orders.models import Enquiry, Message, Order, Workshop
from orders.refusal import Refused
from orders.services import assumptions, audit, documents, exact_dates, letters, ordering
from orders.services.assumptions import Answers
from orders.services.enquiry import sane
from orders.who import OWNER, THE_SERVICE, Who
from quoting.estimate import Estimate, estimate
from quoting.models import Quote, QuoteSeries
from quoting.pricing.money import Money
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.terms import DepositRule, Discount, Extra, Override
from quoting.propeller.finding import Severity
from quoting.services import quotes
from quoting.services.asked import asked
from quoting.services.catalogue import catalogue
from quoting.services.estimating import terms_for
from quoting.services.outlook import outlook_on
from quoting.services.pricebook import NoPriceBook, current_book

S = Quote.State
LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class Review:
    """What the owner adds to the instant answer: changed lines, each with its reason, terms, and words to the customer.

    `override_reason` is the owner's writing over a stop; without it a stop withholds price and date.
    """

    overrides: tuple[Override, ...] = ()
    extras: tuple[Extra, ...] = ()
    discount: Discount | None = None
    rush: Money | None = None
    deposit: DepositRule | None = None
    promised_for: date | None = None
    message: str = ""
    override_reason: str = ""
    insured: bool = False
    duty_paid: bool = False
    crate: bool = True


NO_CHANGES = Review()


def preview(enquiry: Enquiry, review: Review = NO_CHANGES, *, today: date) -> Estimate:
    """The estimate of an enquiry under a review; stores nothing. Raises Refused at the field that needs mending."""
    what = asked(enquiry.typed, catalogue())
    if what.specification is None:
        stops = [f for f in what.findings if f.severity is Severity.STOP]
        raise Refused(stops[0].code, " ".join(f.message for f in stops), status=400, field=stops[0].field)
    try:
        terms = replace(
            terms_for(what, today=today),
            overrides=review.overrides,
            extras=review.extras,
            discount=review.discount,
            rush=review.rush,
            deposit=review.deposit,
            insured=review.insured,
            duty_paid=review.duty_paid,
            crate=review.crate,
        )
        return estimate(
            what.specification,
            current_book(today),
            outlook_on(today),
            terms,
            today=today,
            overridden=bool(review.override_reason.strip()),
            rush=review.rush is not None,
            remarks=what.findings,
        )
    except NoPriceBook as missing:
        raise Refused("no-price-book", "Put a price book in force first.") from missing
    except PriceRefused as refused:
        finding = refused.finding
        raise Refused(finding.code, finding.message, status=400, field=finding.field) from refused


@transaction.atomic
def prepare_quote(
    who: Who,
    enquiry: Enquiry,
    review: Review = NO_CHANGES,
    *,
    today: date,
    now: datetime,
    seen: datetime | None = None,
) -> Quote:
    """Draft the next revision of an enquiry's quote, in place of a draft not yet sent.

    Its date is the exact one where the worker's run fits the review, else the looked-up one; `results` keep which.
    `seen` is when the enquiry the owner had before them was last changed; Refused when its customer changed it since.
    """
    who.must_be(OWNER)
    enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    if seen is not None and enquiry.changed_at != seen:
        raise Refused(
            "changed-meanwhile", "The customer changed this enquiry while you looked. Look again, then send."
        )
    if enquiry.state in (Enquiry.State.DECLINED, Enquiry.State.WITHDRAWN):
        raise Refused("wrong-state", f"Enquiry {enquiry.number} is {enquiry.state}.")
    series = enquiry.series
    if series and _is_settled(series):
        raise Refused("accepted", f"Quote {series.number} is accepted; an order follows it.")
    made = preview(enquiry, review, today=today)
    made = exact_dates.with_exact(enquiry, made, rush=review.rush is not None)
    if made.price is None:
        stop = next(f for f in made.findings if f.severity is Severity.STOP)
        raise Refused("stop", f"A stop stands: {stop.message}", field="override_reason")
    if series:
        series.revisions.filter(state=S.DRAFTED).delete()
    draft = quotes.draft_quote(
        made,
        typed=enquiry.typed,
        today=today,
        series=series,
        override_reason=review.override_reason.strip(),
        message=review.message.strip(),
        promised_for=review.promised_for,
    )
    if series is None:
        Enquiry.objects.filter(pk=enquiry.pk).update(series=draft.series, changed_at=now)
    audit.record(
        who, "draft", f"quote {draft.reference}", now=now, after=S.DRAFTED, reason=review.override_reason,
        detail={"changed": {o.key: o.reason for o in review.overrides}, "added": [e.key for e in review.extras]},
    )  # fmt: skip
    return draft


@transaction.atomic
def send_quote(who: Who, quote: Quote, *, days: int | None = None, now: datetime) -> Quote:
    """Seal a draft and send its link. Earlier revisions are superseded; from here on it cannot change."""
    who.must_be(OWNER)
    enquiry = Enquiry.objects.select_for_update().get(series=quote.series_id)
    workshop = Workshop.objects.get()
    quote = Quote.objects.select_for_update().select_related("series").get(pk=quote.pk)
    if quote.state != S.DRAFTED:
        raise Refused("wrong-state", f"{quote.reference} is {quote.state}.")
    if _is_settled(quote.series):
        raise Refused("accepted", f"Quote {quote.series.number} is accepted already.")
    valid_days = workshop.quote_days if days is None else days
    if not 1 <= valid_days <= 365:
        raise Refused("days", "A quote holds from 1 to 365 days.", status=400, field="days")
    expires = _end_of_day(now, valid_days, workshop)
    earlier = quote.series.revisions.filter(state__in=[S.SENT, S.DECLINED, S.LAPSED])
    earlier.update(state=S.SUPERSEDED)
    sealed = quotes.content_hash(
        quote, issued_at=now, expires_at=expires, terms_version=workshop.terms_version
    )
    sent = Quote.objects.filter(pk=quote.pk, state=S.DRAFTED).update(
        state=S.SENT, issued_at=now, expires_at=expires, terms_version=workshop.terms_version,
        content_hash=sealed, sent_by=who.user,
    )  # fmt: skip
    if sent != 1:
        raise Refused("moved-meanwhile", f"{quote.reference} was changed meanwhile.")
    quote.refresh_from_db()
    Enquiry.objects.filter(pk=enquiry.pk).update(state=Enquiry.State.QUOTED, changed_at=now)
    exact_dates.forget(enquiry)
    audit.record(who, "send", f"quote {quote.reference}", now=now, before=S.DRAFTED, after=S.SENT)
    letters.quote_sent(quote, enquiry.customer, now=now)
    documents.ask_for("quote", quote=quote, now=now)
    return quote


def _end_of_day(now: datetime, days: int, workshop: Workshop) -> datetime:
    """The last second of the shop's day so many days on."""
    day = now.astimezone(workshop.zone).date() + timedelta(days=days)
    return datetime.combine(day, time(23, 59, 59), workshop.zone)


def is_a_name(name: str) -> bool:
    """Whether this can stand under an order: two letters at least."""
    return len(name) <= LONGEST_NAME and sum(c.isalpha() for c in name) >= 2


def may_be_quoted(enquiry: Enquiry) -> bool:
    """Whether a quote, or the next revision of one, may be made of an enquiry."""
    if enquiry.is_open:
        return True
    return enquiry.state == Enquiry.State.QUOTED and not (enquiry.series and _is_settled(enquiry.series))


def _is_settled(series: QuoteSeries) -> bool:
    """Whether a revision is accepted and its order takes no other in its place."""
    order = Order.objects.filter(series=series).first()
    if order is not None and ordering.may_be_revised(order):
        return False
    return series.revisions.filter(state=S.ACCEPTED).exists()


@transaction.atomic
def accept_quote(
    token: str,
    *,
    seen: str,
    terms_version: str,
    name: str,
    now: datetime,
    who: Who | None = None,
    answers: Answers | None = None,
) -> Order:
    """Accept the quote behind a link: exactly one order and one deposit request, whatever is clicked how often.

    `seen` is the content hash and `terms_version` the terms of the page the customer had before them; `answers` say of
    what the quote assumed whether it is right or answered later. A revision of an order that waits for it takes the
    place of the quote accepted before. Raises Refused when the quote is expired, superseded, declined or accepted
    already, or when the page showed another text.
    """
    answers = answers or {}
    if assumptions.is_otherwise(answers):
        raise Refused("answered-otherwise", "The quote does not hold this answer; it has to be worked again.")
    name = name.strip()
    if not is_a_name(name):
        raise Refused(
            "name-missing",
            f"Enter your full name, up to {LONGEST_NAME} characters.",
            status=400,
            field="name",
        )
    quote = open_quote(token, now=now)
    if seen != quote.content_hash or terms_version != quote.terms_version:
        raise Refused(
            "another-text", "The page you saw is not the latest; please read this one and accept again."
        )
    waiting = Order.objects.filter(series=quote.series).first()
    if waiting is not None and ordering.may_be_revised(waiting):
        Quote.objects.filter(pk=waiting.quote_id, state=S.ACCEPTED).update(state=S.SUPERSEDED)
    taken = Quote.objects.filter(pk=quote.pk, state=S.SENT, expires_at__gte=now).update(
        state=S.ACCEPTED, decided_at=now, decided_by=name, decision_hash=quote.content_hash
    )
    if taken != 1:
        raise Refused("accepted-already", "This quote is accepted already.")
    quote.refresh_from_db()
    who = who or Who(name)
    audit.record(who, "accept", f"quote {quote.reference}", now=now, before=S.SENT, after=S.ACCEPTED)
    if waiting is not None:
        return ordering.take_revision(who, waiting, quote, name, answers, now=now)
    return ordering.open_order(who, quote, name, answers, now=now)


@transaction.atomic
def decline_quote(token: str, *, reason: str, name: str, now: datetime) -> Quote:
    """The customer does not want it, and may say why; the owner may still send another revision."""
    if len(reason) > 5000:
        raise Refused("reason", "Write at most 5000 characters.", status=400, field="reason")
    quote = open_quote(token, now=now)
    done = Quote.objects.filter(pk=quote.pk, state=S.SENT).update(
        state=S.DECLINED,
        decided_at=now,
        decided_by=name.strip()[:LONGEST_NAME],
        decision_reason=reason.strip(),
    )
    if done != 1:
        raise Refused("moved-meanwhile", "This quote was changed meanwhile.")
    quote.refresh_from_db()
    audit.record(Who(name or "the customer"), "decline", f"quote {quote.reference}", now=now, before=S.SENT,
                 after=S.DECLINED, reason=reason)  # fmt: skip
    letters.alert_owner(
        f"Quote {quote.reference} declined", reason or "No reason given.", now=now, about=quote.series.enquiry
    )
    return quote


@transaction.atomic
def ask_about_quote(token: str, *, text: str, name: str, now: datetime) -> Message:
    """A question about a quote; the quote stays as it is."""
    text = sane(text, "text", "Write your question.")
    quote = (
        Quote.objects.select_related("series__enquiry").filter(token=token).exclude(state=S.DRAFTED).first()
    )
    if quote is None:
        raise _not_found()
    message = Message.objects.create(
        enquiry=quote.series.enquiry, side=Message.Side.CUSTOMER, name=name.strip()[:LONGEST_NAME] or "Customer",
        body=text, written_at=now,
    )  # fmt: skip
    letters.alert_owner(
        f"A question about quote {quote.reference}", text, now=now, about=quote.series.enquiry
    )
    return message


def lapse_expired(payload: dict[str, Any]) -> None:
    """Job: quotes whose day is past become lapsed."""
    now = timezone.now()
    for quote in Quote.objects.filter(state=S.SENT, expires_at__lt=now).select_related("series"):
        with transaction.atomic():
            if Quote.objects.filter(pk=quote.pk, state=S.SENT, expires_at__lt=now).update(state=S.LAPSED):
                audit.record(
                    THE_SERVICE, "lapse", f"quote {quote.reference}", now=now, before=S.SENT, after=S.LAPSED
                )


def open_quote(token: str, *, now: datetime) -> Quote:
    """The sent, unexpired quote behind a link, locked; otherwise the reason why not."""
    quote = Quote.objects.select_for_update(of=("self",)).select_related("series").filter(token=token).first()
    if quote is None or quote.state == S.DRAFTED:
        raise _not_found()
    if quote.state == S.ACCEPTED:
        raise Refused("accepted-already", "This quote is accepted already.")
    if quote.state == S.SUPERSEDED:
        raise Refused("superseded", "There is a newer revision of this quote.")
    if quote.state == S.DECLINED:
        raise Refused("declined", "This quote was declined. Write to us if you want it after all.")
    if quote.state == S.LAPSED or not quote.is_open(now):
        raise Refused("expired", "This quote has expired. Ask us for a new one.")
    return quote


def _not_found() -> Refused:
    return Refused("not-found", "There is no such quote.", status=404)
