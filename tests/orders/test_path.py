"""The path of an order from enquiry to dispatch, through the services."""

from orders.models import JournalEntry
from orders.services.verify import faults


def test_an_enquiry_goes_all_the_way_to_a_dispatched_propeller_and_balanced_books(either):
    order = either.dispatched()
    assert (order.state, order.propellers.get().state) == ("dispatched", "dispatched")
    assert list(faults()) == []
    assert [e.source.split()[0] for e in JournalEntry.objects.order_by("number")] == [
        "payment", "build", "payment", "delivery", "deposit", "cost",
    ]  # fmt: skip
