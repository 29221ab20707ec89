"""The owner's review of an enquiry while it is not sent: what was changed, and what was typed and not done yet."""

from django.db import models

from orders.models.enquiry import Enquiry


class ReviewDraft(models.Model):
    """One draft for each enquiry, the same in every session.

    `changes` are the owner's changes as `orders.services.review` writes them; None stands for those of the quote sent
    last. `typed` holds by form what was typed on the page and not done yet.
    """

    enquiry = models.OneToOneField(Enquiry, on_delete=models.CASCADE, related_name="draft")
    changes = models.JSONField(null=True, blank=True)
    typed = models.JSONField(default=dict, blank=True)
    changed_at = models.DateTimeField()
    changed_by = models.CharField(max_length=120)

    def __str__(self) -> str:
        return f"review of {self.enquiry.number}"
