"""Stages of a propeller's build, and the records made at the bench, which only grow."""

from django.conf import settings
from django.db import models

from orders.models.person import BenchPerson
from orders.models.propeller import Propeller


class Stage(models.Model):
    """One step of one propeller's build. `minutes` and `wait_minutes` are the quote's estimate."""

    class State(models.TextChoices):
        TO_DO = "to do", "to do"
        STARTED = "started", "started"
        DONE = "done", "done"
        LEFT_OUT = "left out", "left out"

    propeller = models.ForeignKey(Propeller, on_delete=models.PROTECT, related_name="stages")
    key = models.CharField(max_length=20)
    label = models.CharField(max_length=80)
    position = models.PositiveSmallIntegerField()
    skill = models.CharField(max_length=20)
    minutes = models.PositiveIntegerField()
    wait_minutes = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=10, choices=State.choices, default=State.TO_DO)
    started_at = models.DateTimeField(null=True, blank=True)
    started_by = models.ForeignKey(
        BenchPerson, null=True, blank=True, on_delete=models.PROTECT, related_name="started_stages"
    )
    finished_at = models.DateTimeField(null=True, blank=True)
    locked_person = models.ForeignKey(
        BenchPerson, null=True, blank=True, on_delete=models.SET_NULL, related_name="locked_stages"
    )
    not_before = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["propeller", "position"]
        constraints = [
            models.UniqueConstraint(fields=["propeller", "key"], name="each_stage_once_per_propeller"),
            models.UniqueConstraint(fields=["propeller", "position"], name="stages_in_one_order"),
        ]

    def __str__(self) -> str:
        return f"{self.label} of {self.propeller}"


class StageRecord(models.Model):
    """What somebody did at the bench. Never changed or deleted; the latest record of a stage counts."""

    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="records")
    person = models.ForeignKey(BenchPerson, on_delete=models.PROTECT, related_name="records")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="stage_records"
    )
    minutes = models.PositiveIntegerField()
    measurements = models.JSONField(default=dict)
    photo = models.ImageField(upload_to="bench/", blank=True)
    note = models.TextField(blank=True)
    redo = models.BooleanField(default=False)
    finished = models.BooleanField(default=True)
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["recorded_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(minutes__lte=10_000), name="minutes_of_one_record_are_sane"
            )
        ]

    def __str__(self) -> str:
        return f"{self.minutes} min at {self.stage}"
