"""From an accepted quote to its order, and from an accepted revision to the order that waited for it."""

import secrets
from datetime import datetime

from django.utils import timezone

from orders.models import Approval, Enquiry, Order, PaymentRequest, Propeller, Stage, Workshop
from orders.refusal import Refused
from orders.services import accepted, approval, assumptions, audit, letters, outbox
from orders.services.assumptions import Answers
from orders.services.payment import ask_for
from orders.services.queue import join_if_ready
from orders.services.stages import in_shop_order
from orders.services.steps import locked
from orders.who import Who
from quoting.models import Quote
from quoting.propeller.specification import Use
from quoting.services import quotes
from quoting.services.numbering import take_number


def open_order(who: Who, quote: Quote, name: str, answers: Answers, *, now: datetime) -> Order:
    """The order of an accepted quote, with its propellers, stages, deposit request, open questions and pictures."""
    enquiry = Enquiry.objects.select_related("customer").get(series=quote.series)
    today = timezone.localdate(now)
    order = Order.objects.create(
        number=f"O-{today.year}-{take_number(f'order {today.year}'):04d}",
        token=secrets.token_urlsafe(32),
        series=quote.series,
        enquiry=enquiry,
        customer=enquiry.customer,
        currency=quote.currency,
        deposit=quote.deposit_minor,
        address=enquiry.address,
        **_taken_from(quote, name, now),
    )
    for position in range(1, order.quantity + 1):
        _plan_stages(Propeller.objects.create(order=order, position=position))
    request = ask_for(
        order, PaymentRequest.Kind.DEPOSIT, order.deposit,
        days=Workshop.objects.get().payment_days, today=today, now=now,
    )  # fmt: skip
    assumptions.keep(who, order, answers, now=now)
    approval.ask_for_both(who, order, _shown(quote), now=now)
    audit.record(who, "open", f"order {order.number}", now=now, after=order.state)
    letters.order_accepted(order, request, now=now)
    letters.alert_owner(
        f"Order {order.number}", f"{name} has accepted {quote.reference}.",
        now=now, about=order,
    )  # fmt: skip
    outbox.enqueue("replan", {"reason": f"order {order.number} accepted"}, now=now, debounce="replan")
    join_if_ready(who, order, now=now)
    return order


def may_be_revised(order: Order) -> bool:
    """Whether a revision may take the accepted quote's place: an answer asks for it and no work has begun."""
    return order.state == Order.State.WAITING and assumptions.is_answered_otherwise(order)


def take_revision(
    who: Who, order: Order, quote: Quote, name: str, answers: Answers, *, now: datetime
) -> Order:
    """Put an accepted revision in the place of the quote an order waited on; what is paid stays paid.

    Stages are planned and pictures asked for anew. Raises Refused once the order is past waiting.
    """
    order = locked(order)
    if not may_be_revised(order):
        raise Refused("wrong-state", f"Order {order.number} is {order.state}; it takes no revision now.")
    changes = _taken_from(quote, name, now)
    if changes["quantity"] != order.quantity:
        raise Refused("quantity", "A revision of an order keeps its number of propellers.")
    before = order.quote.reference
    asked = order.payment_requests.get(kind=PaymentRequest.Kind.DEPOSIT)
    deposit = min(order.deposit, quote.gross_minor) if asked.paid else quote.deposit_minor
    Order.objects.filter(pk=order.pk).update(deposit=deposit, **changes)
    PaymentRequest.objects.filter(pk=asked.pk).update(amount=deposit)
    order.refresh_from_db()
    for propeller in order.propellers.all():
        propeller.stages.all().delete()
        _plan_stages(propeller)
    assumptions.keep(who, order, answers, now=now)
    order.approvals.filter(state=Approval.State.ASKED).update(
        state=Approval.State.CHANGES_WANTED, decided_at=now, decided_name=name[:120]
    )
    approval.ask_for_both(who, order, _shown(quote), now=now)
    audit.record(who, "take revision", f"order {order.number}", now=now, before=before, after=quote.reference)
    letters.order_revised(order, now=now)
    letters.alert_owner(
        f"Order {order.number} revised", f"{name} has accepted {quote.reference}.",
        now=now, about=order,
    )  # fmt: skip
    outbox.enqueue("replan", {"reason": f"order {order.number} revised"}, now=now, debounce="replan")
    join_if_ready(who, order, now=now)
    return order


def _taken_from(quote: Quote, name: str, now: datetime) -> dict[str, object]:
    """The fields of an order that the accepted quote decides."""
    results, specification = quotes.results_of(quote), quotes.specification_of(quote)
    return {
        "quote": quote,
        "display_only": specification.use is Use.DISPLAY,
        "quantity": specification.quantity,
        "title": accepted.title_of(specification, results.measures),
        "net": quote.net_minor,
        "tax": quote.tax_minor,
        "gross": quote.gross_minor,
        "rush": any(line.category == "rush" for line in results.price.lines),
        "promise": quote.promised_for,
        "accepted_name": name,
        "accepted_at": now,
        "accepted_hash": quote.content_hash,
        "terms_version": quote.terms_version,
    }


def _plan_stages(propeller: Propeller) -> None:
    work = quotes.results_of(propeller.order.quote).work
    Stage.objects.bulk_create(
        Stage(
            propeller=propeller, key=step.stage, label=step.label, position=place, skill=skill,
            minutes=step.minutes, wait_minutes=step.wait_minutes,
        )
        for place, (step, skill) in enumerate(in_shop_order(work), start=1)
    )  # fmt: skip


def _shown(quote: Quote) -> dict[str, object]:
    """What the pictures to be approved are of."""
    return {"quote": quote.reference, "specification": quote.specification, "hash": quote.content_hash}
