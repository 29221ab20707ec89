"""Whoever has asked for a propeller may sign in with the address they gave; the mailed code proves it is theirs."""

import secrets

from django.contrib.auth.models import User
from django.db import transaction

from orders.models import Customer


@transaction.atomic
def let_sign_in(email: str) -> None:
    """Make the customer of an address somebody who can ask for a code; an unknown address changes nothing.

    The account has no password, so only a code mailed to the address opens it.
    """
    customer = Customer.objects.select_for_update().filter(email__iexact=email.strip(), user=None).first()
    if customer is None:
        return
    user = User.objects.filter(email__iexact=customer.email).first()
    if user is None:
        user = User(username=f"customer-{secrets.token_hex(8)}", email=customer.email)
        user.set_unusable_password()
        user.save()
    if not Customer.objects.filter(user=user).exists():
        Customer.objects.filter(pk=customer.pk, user=None).update(user=user)
