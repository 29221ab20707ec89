"""What may go back to a customer: what is owed, what a refund after delivery may come to, what the cards can take."""

from dataclasses import dataclass

from django.db.models import Q, Sum

from orders.models import CardRefund, JournalLine, Order, Payment
from orders.services import card, chart, postings

S = CardRefund.State


@dataclass(frozen=True, slots=True)
class Back:
    """In minor units; what the card provider is asked for already is taken off everywhere.

    `owed`: to be paid back, customer's credit included; `credit`: that credit alone. `net` and `tax`: what of the sale,
    less refunds, is left to be refunded after delivery. `received`: what of the money that came is neither owed back nor
    gone back. `by_card`: what can go back on the card payments. `queued`: asked of the provider and not answered yet.
    """

    owed: int
    credit: int
    net: int
    tax: int
    received: int
    by_card: int
    queued: int

    def tax_on(self, net: int) -> int:
        """Tax that goes back with `net`, in the proportion left, so that nothing is left over at the end."""
        return postings.share(net, self.tax, self.net)


def back_of(order: Order) -> Back:
    """What may go back on an order now. Whoever acts on it holds the order's lock."""
    found = postings.standing(order)
    queued = list(order.card_refunds.filter(state=S.QUEUED))
    net, tax = sum(r.net for r in queued), sum(r.tax for r in queued)
    paying = sum(r.amount for r in queued) - net - tax
    sold = order.state == Order.State.DISPATCHED
    received = order.payments.aggregate(sum=Sum("amount"))["sum"] or 0
    owed = max(found.owed + found.credit - paying, 0)
    return Back(
        owed=owed,
        credit=min(found.credit, owed),
        net=max(found.revenue - net, 0) if sold else 0,
        tax=max(found.tax - tax, 0) if sold else 0,
        received=max(received - found.owed - found.credit - net - tax, 0) if sold else 0,
        by_card=sum(left for _, left in on_cards(order)),
        queued=sum(r.amount for r in queued),
    )


def on_cards(order: Order) -> list[tuple[Payment, int]]:
    """The order's card payments with what is left to go back on each, the latest first."""
    asked = Sum("card_refunds__amount", filter=Q(card_refunds__state__in=[S.QUEUED, S.DONE]))
    rows = order.payments.filter(provider=card.PROVIDER, kind=Payment.Kind.RECEIPT).annotate(asked=asked)
    left = ((paid, paid.amount - (paid.asked or 0)) for paid in rows.order_by("-received_on", "-id"))
    return [(paid, rest) for paid, rest in left if rest > 0]


def orders_owed() -> list[tuple[Order, int]]:
    """Every order on which something is owed back, with the sum in minor units, by number."""
    lines = JournalLine.objects.filter(entry__posted=True, account__code__in=[chart.OWED, chart.CREDIT])
    rows = lines.values_list("entry__order_number").annotate(Sum("credit"), Sum("debit"))
    sums = {number: credits - debits for number, credits, debits in rows if number and credits > debits}
    orders = Order.objects.filter(number__in=sums).select_related("customer").order_by("number")
    return [(order, sums[order.number]) for order in orders]
