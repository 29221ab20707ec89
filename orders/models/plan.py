"""The plan: versions computed by the worker, and the history of each order's forecast."""

from django.db import models

from orders.models.order import Order


class PlanVersion(models.Model):
    """One run over the queue: who does which stage when. `quoting.PlanOutlook` of the same version answers newcomers."""

    version = models.CharField(max_length=64, unique=True)
    as_of = models.DateTimeField()
    current = models.BooleanField(default=False)
    plan = models.JSONField(default=dict)
    reason = models.CharField(max_length=160, blank=True)
    problem = models.TextField(blank=True)

    class Meta:
        ordering = ["-as_of", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["current"], condition=models.Q(current=True), name="one_current_plan"
            )
        ]

    def __str__(self) -> str:
        return f"plan {self.version}"


class ForecastHistory(models.Model):
    """Where an order's ready date stood in one plan version, and why it moved."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="forecasts")
    plan = models.ForeignKey(PlanVersion, on_delete=models.CASCADE, related_name="forecasts")
    likely_by = models.DateField()
    plan_on = models.DateField()
    nineteen_in_twenty = models.DateField()
    reason = models.CharField(max_length=160, blank=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ["order", "at"]
        constraints = [models.UniqueConstraint(fields=["order", "plan"], name="one_forecast_per_plan")]

    def __str__(self) -> str:
        return f"{self.order} by {self.plan_on}"
