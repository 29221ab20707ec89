"""The customer: somebody who has asked for a propeller."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower


class Customer(models.Model):
    """One person by e-mail address. `user` is set once they have signed in by a mailed code."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="customer"
    )
    name = models.CharField(max_length=120)
    email = models.EmailField()
    phone = models.CharField(max_length=40, blank=True)
    street = models.CharField(max_length=160, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    city = models.CharField(max_length=120, blank=True)
    region = models.CharField(max_length=60, blank=True)
    country = models.CharField(max_length=2, blank=True)
    tax_id = models.CharField(max_length=40, blank=True)
    language = models.CharField(max_length=8, default="en")
    created_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(Lower("email"), name="one_customer_per_address")]

    def __str__(self) -> str:
        return self.name
