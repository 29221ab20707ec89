"""The bench: people with skills and hours, absences, machines, racks, stage types and the shop's closures."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class BenchPerson(models.Model):
    """Somebody at the bench. `skills` is a list of skill keys; `week` lists (start, end) minutes a weekday, Monday first."""

    key = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="bench_person",
    )
    skills = models.JSONField(default=list)
    week = models.JSONField(default=list)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Absence(models.Model):
    """Days somebody is away, both ends included. Not `foreseen` is sickness and the like: the forecast learns from it."""

    person = models.ForeignKey(BenchPerson, on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=80, blank=True)
    foreseen = models.BooleanField(default=True)

    class Meta:
        ordering = ["first_day", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="absence_ends_after_start")
        ]

    def __str__(self) -> str:
        return f"{self.person} away {self.first_day} to {self.last_day}"


class Closure(models.Model):
    """Days the whole shop is closed, beside public holidays; both ends included."""

    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["first_day", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="closure_ends_after_start")
        ]

    def __str__(self) -> str:
        return f"closed {self.first_day} to {self.last_day}"


class Machine(models.Model):
    """A machine that one task occupies at a time; `count` stand side by side. `out_of_use` lists ISO dates."""

    key = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    count = models.PositiveSmallIntegerField(default=1)
    out_of_use = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=Q(count__gte=1), name="machine_is_there")]

    def __str__(self) -> str:
        return self.name


class Rack(models.Model):
    """Places held through a wait: clamps while glue sets, hooks while varnish dries."""

    key = models.SlugField(max_length=30, unique=True)
    name = models.CharField(max_length=80)
    capacity = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["name"]
        constraints = [models.CheckConstraint(condition=Q(capacity__gte=1), name="rack_holds_something")]

    def __str__(self) -> str:
        return self.name


class StageType(models.Model):
    """One step of the build as the shop does it: skill, machine, and the rack that holds the wait after it."""

    key = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=80)
    position = models.PositiveSmallIntegerField(unique=True)
    skill = models.CharField(max_length=20)
    machine = models.ForeignKey(Machine, null=True, blank=True, on_delete=models.PROTECT)
    rack = models.ForeignKey(Rack, null=True, blank=True, on_delete=models.PROTECT)

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return self.name
