"""How the customers' doors fetch a row: by who is signed in or by a secret link. The desk's doors are kept by its roles."""

from typing import Any, TypeVar

from django.contrib.auth.models import AnonymousUser, User
from django.db.models import Model, QuerySet
from django.http import Http404

from orders.models import Customer, Enquiry, Order
from quoting.models import Quote

M = TypeVar("M", bound=Model)
Own = TypeVar("Own", Enquiry, Order)
Anybody = User | AnonymousUser


def customer_of(user: Anybody) -> Customer | None:
    """The customer a signed-in user is, if any."""
    return Customer.objects.filter(user=user).first() if user.is_authenticated else None


def own_rows(user: Anybody, model: type[Own]) -> QuerySet[Own]:
    """A customer's own enquiries or orders; for whoever is no customer there are none."""
    customer = customer_of(user)
    rows = model._default_manager.all()
    return rows.filter(customer=customer) if customer else rows.none()


def own_row(user: Anybody, model: type[Own], **which: Any) -> Own:
    """One of a customer's own rows; Http404 whether it is not there or not theirs."""
    row = own_rows(user, model).filter(**which).first()
    if row is None:
        raise Http404
    return row


def by_token(model: type[M], token: str) -> M:
    """The enquiry, quote or order behind a secret link; a quote not sent yet is not there."""
    rows = model._default_manager.filter(token=token)
    if model is Quote:
        rows = rows.exclude(state=Quote.State.DRAFTED)
    row = rows.first()
    if row is None:
        raise Http404
    return row
