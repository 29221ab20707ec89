"""Who may see which row: what is not theirs does not exist for them."""

import pytest
from django.contrib.auth.models import AnonymousUser, User
from django.http import Http404

from orders import access
from orders.models import Customer, Document, Enquiry, Invoice, Order, PaymentRequest, Propeller
from orders.refusal import Refused
from quoting.models import Quote


def user(name: str, customer: str = "") -> User:
    made = User.objects.create(username=name, email=f"{name}@example.org")
    if customer:
        Customer.objects.filter(email=customer).update(user=made)
    return made


@pytest.fixture
def charlie(shop):
    shop.dispatched()
    Customer.objects.create(
        name="Charlie", email="charlie@example.org", created_at=shop.now, user=user("charlie")
    )
    return User.objects.get(username="charlie")


@pytest.mark.parametrize("model", [Enquiry, Quote, Order, Propeller, PaymentRequest, Invoice])
def test_a_stranger_finds_nothing_and_the_customer_their_own(charlie, model):
    alice = user("alice", "alice@example.org")
    row = model.objects.first()
    assert list(access.rows_for(charlie, model)) == []
    assert access.row_for(alice, model, pk=row.pk) == row
    for nobody in (charlie, AnonymousUser()):
        with pytest.raises(Http404):
            access.row_for(nobody, model, pk=row.pk)


def test_a_customer_sees_no_draft_and_no_build_card(charlie, shop):
    alice = user("alice", "alice@example.org")
    order = Order.objects.get()
    Document.objects.create(kind="build-card", subject="x", order=order, sha256="0", made_at=shop.now)
    Document.objects.create(kind="invoice", subject="x", order=order, sha256="0", made_at=shop.now)
    assert list(access.rows_for(alice, Document).values_list("kind", flat=True)) == ["invoice"]


def test_roles_see_what_their_work_needs(charlie):
    bench, bookkeeper = User.objects.get(username="bench"), User.objects.get(username="bookkeeper")
    assert access.rows_for(bench, Propeller).exists() and not access.rows_for(bench, Invoice).exists()
    assert access.rows_for(bookkeeper, Invoice).exists() and not access.rows_for(bookkeeper, Enquiry).exists()


def test_staff_of_another_role_are_told_and_strangers_are_not(charlie):
    with pytest.raises(Refused) as refused:
        access.needs_role(User.objects.get(username="bench"), "bookkeeper")
    assert refused.value.status == 403
    with pytest.raises(Http404):
        access.needs_role(charlie, "bookkeeper")


def test_a_link_leads_to_its_row_and_a_guess_nowhere(charlie):
    order = Order.objects.get()
    assert access.by_token(Order, order.token) == order
    with pytest.raises(Http404):
        access.by_token(Order, order.token[:-1] + "x")
