"""The review of an enquiry: what the owner changed on it, kept in one draft for all sessions, and its sending."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from orders.models import Enquiry, ReviewDraft
from orders.refusal import Refused
from orders.services import audit, exact_dates
from orders.services.quote import Review, prepare_quote, preview, send_quote
from orders.who import OWNER, Who
from quoting.estimate import Estimate
from quoting.models import Quote
from quoting.pricing.lines import Category
from quoting.pricing.money import Money
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.terms import DepositRule, Discount, Extra, Override
from quoting.services.quotes import results_of
from quoting.services.serial import digest, unstructured

Changes = dict[str, Any]
"""`overrides` by line, `extras` in turn, `terms` as typed, `override_reason`: text only, so that it can be stored."""

NOTHING: Changes = {"overrides": {}, "override_reason": "", "extras": [], "terms": {}}
PRICED = ("change", "extra", "terms")
"""The forms whose words must be worked into the price, or emptied, before a quote is sent."""
SEND = "send"
HALF = 32
"""Letters of each half of the page's hash: 128 bits."""


@dataclass(frozen=True, slots=True)
class Sending:
    """What goes with a quote, and what the owner says yes to: below its cost, or sooner than the plan."""

    shown: str = ""
    message: str = ""
    promised_for: date | None = None
    below_cost: bool = False
    sooner: bool = False


def last_sent(enquiry: Enquiry) -> Quote | None:
    """The revision that went out last."""
    if enquiry.series is None:
        return None
    return enquiry.series.revisions.exclude(state=Quote.State.DRAFTED).order_by("-revision").first()


def changes_of(enquiry: Enquiry) -> Changes:
    """The owner's changes as they stand: those of the draft, else those of the quote sent last."""
    draft = ReviewDraft.objects.filter(enquiry=enquiry).first()
    if draft is not None and draft.changes is not None:
        return {**NOTHING, **draft.changes}
    sent = last_sent(enquiry)
    return changes_in(sent) if sent else dict(NOTHING)


def changes_in(quote: Quote) -> Changes:
    """The changes a stored quote was made under; its lines of one's own are numbered anew."""
    terms = results_of(quote).terms
    if terms is None:
        return {**NOTHING, "override_reason": quote.override_reason}
    numbers = {f"extra.{extra.key}": f"extra.{n}" for n, extra in enumerate(terms.extras, 1)}
    words: dict[str, str] = {"currency": quote.currency}
    if terms.discount and terms.discount.percent is not None:
        words["discount_percent"] = f"{terms.discount.percent:f}"
    if terms.discount and terms.discount.amount is not None:
        words["discount_amount"] = str(terms.discount.amount.amount)
    if terms.discount:
        words["discount_reason"] = terms.discount.reason
    if terms.rush is not None:
        words["rush"] = str(terms.rush.amount)
    if terms.deposit is not None:
        words["deposit_percent"] = f"{terms.deposit.percent:f}"
    ticks = {"insured": terms.insured, "duty_paid": terms.duty_paid, "uncrated": not terms.crate}
    words |= {name: "on" for name, ticked in ticks.items() if ticked}
    return {
        "overrides": {
            numbers.get(o.key, o.key): {
                "reason": o.reason,
                "quantity": None if o.quantity is None else f"{o.quantity:f}",
                "rate": None if o.rate is None else f"{o.rate:f}",
            }
            for o in terms.overrides
        },
        "override_reason": quote.override_reason,
        "extras": [
            {
                "label": e.label, "category": e.category.value, "amount": f"{e.quantity:f}", "unit": e.unit,
                "price": f"{e.rate:f}", "cost": f"{e.cost_rate:f}", "because": e.reason,
            }
            for e in terms.extras
        ],
        "terms": words if len(words) > 1 else {},
    }  # fmt: skip


def review_of(changes: Changes, **more: Any) -> Review:
    """The changes as values; raises pricing's `Refused` naming the field."""
    terms = changes["terms"]
    percent = _number(terms.get("deposit_percent"))
    return Review(
        overrides=tuple(
            Override(key, row["reason"], _number(row["quantity"]), _number(row["rate"]))
            for key, row in sorted(changes["overrides"].items())
        ),
        extras=tuple(
            Extra(
                key=str(n),
                category=Category(row["category"]),
                label=row["label"],
                quantity=Decimal(row["amount"]),
                unit=row["unit"],
                rate=Decimal(row["price"]),
                cost_rate=Decimal(row["cost"]),
                reason=row["because"],
            )
            for n, row in enumerate(changes["extras"], 1)
        ),
        discount=_discount(terms),
        rush=_money(terms.get("rush"), terms.get("currency", "")),
        deposit=None if percent is None else DepositRule(percent),
        insured="insured" in terms,
        duty_paid="duty_paid" in terms,
        crate="uncrated" not in terms,
        override_reason=changes["override_reason"],
        **more,
    )


def under(enquiry: Enquiry, changes: Changes, *, today: date) -> Estimate:
    """The estimate under these changes, with the exact date where the worker's run fits them, else the looked-up one.

    Raises Refused naming the field.
    """
    try:
        made = preview(enquiry, review_of(changes), today=today)
    except PriceRefused as refused:
        found = refused.finding
        raise Refused(found.code, found.message, status=400, field=found.field) from refused
    return exact_dates.with_exact(enquiry, made, rush=is_rush(changes))


def is_rush(changes: Changes) -> bool:
    """Whether these changes put it before the others."""
    return changes["terms"].get("rush") not in (None, "")


def shown_hash(enquiry: Enquiry, changes: Changes, made: Estimate) -> str:
    """A hash of what the owner has before them, in two halves: what is asked, changed, priced and found; the dates."""
    f = made.forecast
    dates = [d.isoformat() for d in (f.likely_by, f.plan_on, f.nineteen_in_twenty)] if f else []
    rest = digest(
        {
            "asked": enquiry.changed_at.isoformat(),
            "changes": changes,
            "price": unstructured(made.price),
            "findings": [[x.code, x.field, str(x.severity), x.message] for x in made.findings],
        }
    )
    return rest[:HALF] + digest(dates)[:HALF]


def same_but_dates(shown: str, other: str) -> bool:
    """Whether two hashes of a page differ in nothing but the dates."""
    return shown[:HALF] == other[:HALF]


def is_below_cost(made: Estimate) -> bool:
    return made.price is not None and made.price.margin.amount < 0


@transaction.atomic
def keep(who: Who, enquiry: Enquiry, changes: Changes, *, done: str = "", now: datetime) -> None:
    """Store the changes as they are now; what was typed in the form `done` has been done with it."""
    who.must_be(OWNER)
    draft = _draft(who, enquiry, now)
    draft.changes = changes
    draft.typed.pop(done, None)
    draft.save()
    exact_dates.follow(
        enquiry, rush=is_rush(changes), overridden=bool(changes["override_reason"]), now=now
    )


@transaction.atomic
def keep_typed(
    who: Who, enquiry: Enquiry, typed: Mapping[str, Mapping[str, str] | None], *, now: datetime
) -> None:
    """Store by form what was typed and is not done yet; None forgets a form's words."""
    who.must_be(OWNER)
    if not any(typed.values()) and not ReviewDraft.objects.filter(enquiry=enquiry).exists():
        return
    draft = _draft(who, enquiry, now)
    for form, words in typed.items():
        if words is None:
            draft.typed.pop(form, None)
        else:
            draft.typed[form] = dict(words)
    draft.save()


def typed_of(enquiry: Enquiry) -> dict[str, dict[str, str]]:
    """By form what was typed and is not done yet."""
    draft = ReviewDraft.objects.filter(enquiry=enquiry).first()
    return draft.typed if draft else {}


@transaction.atomic
def send(who: Who, enquiry: Enquiry, given: Sending, *, today: date, now: datetime) -> Quote:
    """Send the quote as the owner had it before them.

    Raises Refused when it stands otherwise by now, when something typed is not worked into the price, and at the tick
    that is wanted for a price below its cost or a day sooner than the plan's.
    """
    who.must_be(OWNER)
    enquiry = Enquiry.objects.select_for_update().get(pk=enquiry.pk)
    changes = changes_of(enquiry)
    made = under(enquiry, changes, today=today)
    if given.shown != shown_hash(enquiry, changes, made):
        raise Refused(
            "shown-otherwise",
            "What is asked, the price, the date or a finding has changed since this page was shown. It stands here as it "
            "is now: look again, then send.",
        )
    _nothing_left(typed_of(enquiry))
    if is_below_cost(made) and not given.below_cost:
        raise Refused(
            "below-cost",
            "The price is below what it costs the shop. Tick this to send it so.",
            field="below_cost",
        )
    plan_on = made.forecast.plan_on if made.forecast else None
    is_sooner = bool(given.promised_for and plan_on and given.promised_for < plan_on)
    if is_sooner and not given.sooner:
        raise Refused(
            "sooner", "The day is sooner than the plan's 80 % point. Tick this to promise it.", field="sooner"
        )
    wanted = review_of(changes, message=given.message, promised_for=given.promised_for)
    draft = prepare_quote(who, enquiry, wanted, today=today, now=now, seen=enquiry.changed_at)
    sent = send_quote(who, draft, now=now)
    knowingly = [
        words
        for words, so in (("below cost", is_below_cost(made)), ("sooner than the plan", is_sooner))
        if so
    ]
    if knowingly:
        audit.record(who, "send knowingly", f"quote {sent.reference}", now=now, reason=", ".join(knowingly))
    for row in ReviewDraft.objects.filter(enquiry=enquiry):
        row.changes = None
        row.typed.pop(SEND, None)
        row.save()
    return sent


def _nothing_left(typed: Mapping[str, Any]) -> None:
    """Raise Refused while words stand in a form of the price that were not worked into it."""
    names = {
        "change": "a changed line",
        "extra": "a line of your own",
        "terms": "discount, rush, deposit or carriage",
    }
    left: Iterable[str] = [names[form] for form in PRICED if form in typed]
    if left:
        raise Refused(
            "not-worked-in",
            f"Typed but not worked into the price: {'; '.join(left)}. Work it in, or empty the boxes.",
        )


def _draft(who: Who, enquiry: Enquiry, now: datetime) -> ReviewDraft:
    """The enquiry's draft, locked, with its hand and hour; assumes a transaction."""
    draft = ReviewDraft.objects.select_for_update().filter(enquiry=enquiry).first()
    draft = draft or ReviewDraft(enquiry=enquiry)
    draft.changed_at, draft.changed_by = now, who.name[:120]
    return draft


def _discount(terms: Mapping[str, str]) -> Discount | None:
    percent = _number(terms.get("discount_percent"))
    amount = _money(terms.get("discount_amount"), terms.get("currency", ""))
    if not percent and not amount:
        return None
    return Discount(terms["discount_reason"], percent=percent or None, amount=amount if not percent else None)


def _number(text: str | None) -> Decimal | None:
    return None if text in (None, "") else Decimal(text or 0)


def _money(text: str | None, currency: str) -> Money | None:
    return None if text in (None, "") else Money(Decimal(text or 0), currency)
