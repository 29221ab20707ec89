"""The plan: versions computed by the worker, forecast history, the owner's decisions, waits on timber, longer questions."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce

from orders.models.order import Order
from orders.models.person import BenchPerson


class PlanVersion(models.Model):
    """One run over the queue: who does which stage when. `quoting.PlanOutlook` of the same version answers newcomers.

    `snapshot` is what the forecast was made from, kept to explain the next one's moves and cut down to what was learnt
    once another plan stands, as `plan` is then emptied; `load` the share of working
    time that arriving work takes, by skill ("" for everybody).
    """

    version = models.CharField(max_length=64, unique=True)
    as_of = models.DateTimeField()
    current = models.BooleanField(default=False)
    plan = models.JSONField(default=dict)
    snapshot = models.JSONField(default=dict)
    load = models.JSONField(default=dict)
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
    """Where an order's ready date stood in one plan version, and why it moved.

    `causes` lists [cause, days] with the words of `quoting.leadtime.moves`, days later positive; `waits` the kinds
    of outside wait that still ran; `customer_days` how many of the days ahead are usually the customer's own.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="forecasts")
    plan = models.ForeignKey(PlanVersion, on_delete=models.CASCADE, related_name="forecasts")
    likely_by = models.DateField()
    plan_on = models.DateField()
    nineteen_in_twenty = models.DateField()
    reason = models.CharField(max_length=160, blank=True)
    causes = models.JSONField(default=list)
    waits = models.JSONField(default=list)
    customer_days = models.PositiveSmallIntegerField(default=0)
    at = models.DateTimeField()

    class Meta:
        ordering = ["order", "at"]
        constraints = [models.UniqueConstraint(fields=["order", "plan"], name="one_forecast_per_plan")]

    def __str__(self) -> str:
        return f"{self.order} by {self.plan_on}"


class PlanDecision(models.Model):
    """One decision of the owner on the plan, with what stood before and after, so that the last can be undone."""

    class Kind(models.TextChoices):
        FIX = "fix", "fix a stage"
        HOLD = "hold", "hold an order"
        TAKE_UP = "take up", "take an order up again"
        RANK = "rank", "rank an order"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="decisions")
    stage = models.ForeignKey("orders.Stage", null=True, blank=True, on_delete=models.CASCADE)
    words = models.CharField(max_length=200)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)
    name = models.CharField(max_length=120)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    at = models.DateTimeField()
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-id"]

    def __str__(self) -> str:
        return self.words


class PlanQuestion(models.Model):
    """A longer computation asked of the worker: what a decision would do to everybody, or a longer search for a plan.

    `asked` holds the question, `answer` what came of it, `share` how far it has come, `told` what there is to say
    meanwhile. Setting `cancelled` ends a search at its best so far.
    """

    class Kind(models.TextChoices):
        WHAT_IF = "what if", "what if"
        SEARCH = "search", "longer search"

    class State(models.TextChoices):
        ASKED = "asked", "asked"
        RUNNING = "running", "running"
        DONE = "done", "done"
        CANCELLED = "cancelled", "cancelled"
        FAILED = "failed", "failed"

    kind = models.CharField(max_length=8, choices=Kind.choices)
    asked = models.JSONField(default=dict)
    words = models.CharField(max_length=240)
    state = models.CharField(max_length=10, choices=State.choices, default=State.ASKED)
    share = models.FloatField(default=0.0)
    told = models.JSONField(default=dict)
    answer = models.JSONField(default=dict)
    problem = models.TextField(blank=True)
    cancelled = models.BooleanField(default=False)
    plan_version = models.CharField(max_length=64, blank=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL)
    asked_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["kind"],
                condition=Q(kind="search", state__in=["asked", "running"]),
                name="one_search_at_a_time",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.words}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.ASKED, self.State.RUNNING)


class TimberWait(models.Model):
    """An order that waits on timber from the supplier before its first stage; `until` is when it came."""

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="timber_waits")
    since = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)
    remark = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["since", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["order"], condition=Q(until=None), name="one_open_timber_wait_an_order"
            ),
            models.CheckConstraint(
                condition=Q(until=None) | Q(until__gte=models.F("since")),
                name="timber_comes_after_it_was_awaited",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order} waits on timber"


class CalendarLink(models.Model):
    """An unguessable address at which a calendar program reads one person's work, or the promises when `person` is None."""

    token = models.CharField(max_length=64, unique=True)
    person = models.ForeignKey(
        BenchPerson, null=True, blank=True, on_delete=models.CASCADE, related_name="calendar_links"
    )
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=Q(revoked_at=None), name="one_open_link_per_person"
            ),
            models.UniqueConstraint(
                Coalesce("person", 0, output_field=models.BigIntegerField()),
                condition=Q(revoked_at=None, person=None),
                name="one_open_link_to_promises",
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.person or 'promises'}"
