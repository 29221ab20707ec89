"""The customer's answers to what a quote assumed: before it is accepted, or on its order while that waits."""

from datetime import datetime

from django.db import transaction

from orders.models import Enquiry, Order
from orders.refusal import Refused
from orders.services import assumptions, audit
from orders.services.assumptions import Answers
from orders.services.queue import join_if_ready
from orders.services.quote import open_quote
from orders.services.steps import locked
from orders.who import Who
from quoting.models import Quote


@transaction.atomic
def answer_before_order(who: Who, token: str, answers: Answers, *, now: datetime) -> Quote:
    """An answer that the quote does not hold: nothing is ordered, and the owner quotes again with it."""
    quote = open_quote(token, now=now)
    enquiry = Enquiry.objects.select_for_update().select_related("customer").get(series=quote.series)
    typed = assumptions.typed_with(enquiry, assumptions.of_quote(quote), answers)
    Quote.objects.filter(pk=quote.pk, state=Quote.State.SENT).update(
        state=Quote.State.DECLINED,
        decided_at=now,
        decided_by=who.name[:120],
        decision_reason="Answered otherwise than the quote assumed.",
    )
    quote.refresh_from_db()
    audit.record(
        who, "answer otherwise", f"quote {quote.reference}",
        now=now, before=Quote.State.SENT, after=Quote.State.DECLINED,
    )  # fmt: skip
    assumptions.reopen(who, enquiry, typed, answers, now=now)
    return quote


@transaction.atomic
def answer_on_order(who: Who, order: Order, answers: Answers, *, now: datetime) -> Order:
    """Answers while the order waits. Those as assumed close their question; any other stops it for a revision."""
    order = locked(order)
    if order.state != Order.State.WAITING:
        raise Refused("wrong-state", f"Order {order.number} is {order.state}; write to the workshop instead.")
    open_now = {row.key for row in assumptions.unanswered(order)}
    questions = [q for q in assumptions.of_quote(order.quote) if q.key in open_now]
    if not any(q.key in answers and answers[q.key].word != assumptions.Word.LATER for q in questions):
        raise Refused("nothing-said", "Answer one of the questions, or come back when you know.", status=400)
    if assumptions.is_otherwise(answers):
        assert order.enquiry is not None
        enquiry = Enquiry.objects.select_for_update().select_related("customer").get(pk=order.enquiry.pk)
        earlier = order.confirmations.exclude(typed={})
        typed = assumptions.typed_with(enquiry, questions, answers, earlier)
        assumptions.reopen(who, enquiry, typed, answers, now=now)
    assumptions.settle(who, order, questions, answers, now=now)
    join_if_ready(who, order, now=now)
    return order
