"""Which rows the customers' doors open: what is not one's own does not exist, and a link leads to its row alone."""

import pytest
from django.contrib.auth.models import AnonymousUser, User
from django.http import Http404

from orders import access
from orders.models import Customer, Enquiry, Order
from orders.services import quote
from quoting.models import Quote


def customer(name: str, shop) -> User:
    made = User.objects.create(username=name, email=f"{name}@example.org")
    Customer.objects.update_or_create(
        email=made.email, defaults={"name": name.capitalize(), "user": made, "created_at": shop.now}
    )
    return made


@pytest.mark.parametrize("model", [Enquiry, Order])
def test_a_stranger_finds_nothing_and_the_customer_their_own(shop, model):
    shop.dispatched()
    alice, charlie = customer("alice", shop), customer("charlie", shop)
    row = model.objects.first()
    assert access.own_row(alice, model, pk=row.pk) == row
    for nobody in (charlie, AnonymousUser(), User.objects.get(username="owner")):
        assert list(access.own_rows(nobody, model)) == []
        with pytest.raises(Http404):
            access.own_row(nobody, model, pk=row.pk)


def test_a_link_leads_to_its_row_and_a_guess_nowhere(shop):
    order = shop.order()
    assert access.by_token(Order, order.token) == order
    with pytest.raises(Http404):
        access.by_token(Order, order.token[:-1] + "x")


def test_the_link_of_a_quote_opens_when_it_is_sent(shop):
    draft = quote.prepare_quote(shop.owner, shop.enquiry(), quote.NO_CHANGES, today=shop.today, now=shop.now)
    with pytest.raises(Http404):
        access.by_token(Quote, draft.token)
    sent = quote.send_quote(shop.owner, draft, now=shop.now)
    assert access.by_token(Quote, sent.token) == sent
