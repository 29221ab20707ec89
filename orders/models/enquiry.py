"""The enquiry: what a customer asks for, as typed, with the instant answer it was given."""

from django.db import models

from orders.models.customer import Customer


class Enquiry(models.Model):
    """One enquiry. Whoever holds `token` may see and answer it; `typed` keeps the form exactly as filled in."""

    class State(models.TextChoices):
        NEW = "new", "new"
        ASKED_BACK = "asked back", "asked back"
        QUOTED = "quoted", "quoted"
        DECLINED = "declined", "declined"
        WITHDRAWN = "withdrawn", "withdrawn"

    number = models.CharField(max_length=20, unique=True)
    token = models.CharField(max_length=64, unique=True)
    state = models.CharField(max_length=12, choices=State.choices, default=State.NEW)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="enquiries")
    typed = models.JSONField(default=dict)
    specification = models.JSONField(null=True, blank=True)
    estimate = models.JSONField(null=True, blank=True)
    address = models.JSONField(default=dict)
    language = models.CharField(max_length=8, default="en")
    question = models.TextField(blank=True)
    reason = models.TextField(blank=True)
    series = models.OneToOneField(
        "quoting.QuoteSeries", null=True, blank=True, on_delete=models.PROTECT, related_name="enquiry"
    )
    created_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "enquiries"
        indexes = [models.Index(fields=["state", "created_at"], name="enquiry_by_state")]

    def __str__(self) -> str:
        return f"Enquiry {self.number}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.NEW, self.State.ASKED_BACK)
