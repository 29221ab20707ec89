"""Gapless numbers: taken inside the transaction that uses them, so that a rollback gives the number back."""

from django.db import transaction
from django.db.models import F

from quoting.models import Counter


def take_number(series: str) -> int:
    """The next number of a series, from 1; others wait until this transaction ends.

    Raises TransactionManagementError outside a transaction: a number taken there could be lost.
    """
    if not transaction.get_connection().in_atomic_block:
        raise transaction.TransactionManagementError("a number is taken inside the transaction that uses it")
    Counter.objects.get_or_create(name=series)
    Counter.objects.filter(name=series).update(last=F("last") + 1)
    return Counter.objects.get(name=series).last
