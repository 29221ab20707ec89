"""How a customer follows the build: the day of each stage, what was measured, photographs once it is released, lateness."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.conf import settings
from django.core import signing
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from orders.models import Order, Propeller, Stage, StageRecord
from orders.services.accepted import build_figures
from orders.services.measurements import Measurement, limits_words, measurements
from portal.templatetags.sheet import day

SHOWN = {
    "bore": ("bore",),
    "track": ("track",),
    "balance": ("unbalance",),
    "final-balance": ("unbalance",),
    "inspect": ("mass", "diameter"),
}
"""The measurements told to a customer, by stage."""
SHAPES = {
    Stage.State.TO_DO: "waiting",
    Stage.State.STARTED: "in work",
    Stage.State.DONE: "done",
    Stage.State.LEFT_OUT: "off",
}
RELEASED = (Propeller.State.RELEASED, Propeller.State.DISPATCHED, Propeller.State.RETIRED)
CALENDAR = "calendar of an order"
"""Salt of the calendar's address, which opens nothing but the calendar."""


def stage_word(stage: Stage) -> str:
    return {
        Stage.State.TO_DO: _("to come"),
        Stage.State.STARTED: _("in work"),
        Stage.State.DONE: _("done"),
        Stage.State.LEFT_OUT: _("not needed"),
    }[Stage.State(stage.state)]


def stages_of(order: Order, units: str) -> list[dict[str, Any]]:
    """Each propeller with its stages as words and shapes, with days, measurements and photographs."""
    rows = order.propellers.select_related("order__quote").prefetch_related("stages__records")
    return [{"article": propeller, "stages": _stages(propeller, units)} for propeller in rows]


def _stages(propeller: Propeller, units: str) -> list[dict[str, Any]]:
    stages = list(propeller.stages.all())
    begun = any(stage.state in (Stage.State.STARTED, Stage.State.DONE) for stage in stages)
    wanted = measurements(build_figures(propeller)) if begun else {}
    return [
        {
            "label": _(stage.label),
            "shape": SHAPES[Stage.State(stage.state)],
            "word": stage_word(stage),
            "day": _day_of(stage),
            "measured": _measured(stage, wanted.get(stage.key, ()), units),
            "photographs": photographs_of(stage) if propeller.state in RELEASED else [],
        }
        for stage in stages
    ]


def _day_of(stage: Stage) -> str:
    """The day it was done, or since when it is worked at."""
    if stage.state == Stage.State.DONE and stage.finished_at:
        return day(stage.finished_at)
    if stage.state == Stage.State.STARTED and stage.started_at:
        return _("since %(day)s") % {"day": day(stage.started_at)}
    return ""


def _measured(stage: Stage, wanted: tuple[Measurement, ...], units: str) -> list[str]:
    """What counts of a stage that is done, in words with its limits."""
    records = [record for record in stage.records.all() if record.finished]
    if stage.state != Stage.State.DONE or not records:
        return []
    latest = max(records, key=lambda record: (record.recorded_at, record.pk))
    shown = [m for m in wanted if m.key in SHOWN.get(stage.key, ()) and m.key in latest.measurements]
    return [_words(m, latest.measurements[m.key], units) for m in shown]


def _words(m: Measurement, value: float, units: str) -> str:
    figure = f"{value:g} {m.unit}"
    if m.unit == "mm" and units == "in":
        figure += f" ({value / 25.4:.3f} in)"
    bounds = limits_words(m)
    return f"{_(m.label)} {figure}" + (f", {_('wanted')} {bounds}" if bounds else "")


def photographs_of(stage: Stage) -> list[StageRecord]:
    """Those of the last try: made after the finished record before the latest one."""
    records = list(stage.records.all())
    finished = [at for at, record in enumerate(records) if record.finished]
    begun = finished[-2] + 1 if len(finished) > 1 else 0
    return [record for record in records[begun:] if record.photo]


@dataclass(frozen=True, slots=True)
class Late:
    """An order that is not ready by its promise, or will not be; `plan_on` is the day planned on now, if there is one."""

    promise: date
    plan_on: date | None


def late_of(order: Order) -> Late | None:
    """Whether an order under way is late, by its newest forecast or by the calendar."""
    if order.promise is None or not order.is_open or order.state == Order.State.READY:
        return None
    plan_on = order.forecasts.order_by("-at", "-id").values_list("plan_on", flat=True).first()
    if (plan_on and plan_on > order.promise) or timezone.localdate() > order.promise:
        return Late(order.promise, plan_on)
    return None


def calendar_address(order: Order) -> str:
    """Where a calendar program reads the days of one order; the address cannot be used for anything else."""
    word = signing.dumps(order.pk, salt=CALENDAR)
    return f"{settings.BASE_URL}{reverse('portal:order_calendar', args=[word])}"


def order_of_calendar(word: str) -> Order | None:
    """The order behind a calendar's address; None when we never gave that address out."""
    try:
        return Order.objects.filter(pk=signing.loads(word, salt=CALENDAR)).first()
    except signing.BadSignature:
        return None
