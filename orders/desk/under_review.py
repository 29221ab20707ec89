"""What the owner has changed on an enquiry before sending: kept in the session under its number, so nothing is lost."""

from decimal import Decimal
from typing import Any

from django.http import HttpRequest
from django.utils import timezone

from orders.models import Enquiry
from orders.refusal import Refused
from orders.services.quote import Review, preview
from quoting.estimate import Estimate
from quoting.pricing.lines import Category
from quoting.pricing.money import Money
from quoting.pricing.refusal import Refused as PriceRefused
from quoting.pricing.terms import DepositRule, Discount, Extra, Override
from quoting.services.pricebook import NoPriceBook, current_book

NOTHING: dict[str, Any] = {"overrides": {}, "override_reason": "", "extras": [], "terms": {}}


def kept(request: HttpRequest, number: str) -> dict[str, Any]:
    """What the owner has changed on this enquiry so far."""
    return {**NOTHING, **request.session.get(f"review {number}", {})}


def keep(request: HttpRequest, number: str, changed: dict[str, Any]) -> None:
    request.session[f"review {number}"] = changed


def forget(request: HttpRequest, number: str) -> None:
    request.session.pop(f"review {number}", None)


def currency_now() -> str:
    """The currency a quote would be in today."""
    try:
        return current_book(timezone.localdate()).currency
    except NoPriceBook:
        return "EUR"


def review_of(changed: dict[str, Any], **more: Any) -> Review:
    """The session's changes as the service takes them; raises pricing's `Refused` naming the field."""
    overrides = tuple(
        Override(key, row["reason"], _number(row["quantity"]), _number(row["rate"]))
        for key, row in sorted(changed["overrides"].items())
    )
    extras = tuple(
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
        for n, row in enumerate(changed["extras"], 1)
    )
    terms = changed["terms"]
    currency = terms.get("currency", "")
    percent = _number(terms.get("deposit_percent"))
    return Review(
        overrides=overrides,
        extras=extras,
        discount=_discount(terms),
        rush=_money(terms.get("rush"), currency),
        deposit=None if percent is None else DepositRule(percent),
        insured="insured" in terms,
        duty_paid="duty_paid" in terms,
        crate="uncrated" not in terms,
        override_reason=changed["override_reason"],
        **more,
    )


def under(row: Enquiry, changed: dict[str, Any]) -> Estimate:
    """The estimate under these changes; raises Refused naming the field."""
    try:
        return preview(row, review_of(changed), today=timezone.localdate())
    except PriceRefused as refused:
        found = refused.finding
        raise Refused(found.code, found.message, status=400, field=found.field) from refused


def _discount(terms: dict[str, str]) -> Discount | None:
    percent = _number(terms.get("discount_percent"))
    amount = _money(terms.get("discount_amount"), terms.get("currency", ""))
    if not percent and not amount:
        return None
    return Discount(terms["discount_reason"], percent=percent or None, amount=amount if not percent else None)


def _number(text: str | None) -> Decimal | None:
    return None if text in (None, "") else Decimal(text or 0)


def _money(text: str | None, currency: str) -> Money | None:
    return None if text in (None, "") else Money(Decimal(text or 0), currency)
