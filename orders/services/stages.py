"""The stages of the build as the shop does them: who can, on what, resting where, and in which order."""

from collections.abc import Iterable, Sequence
from datetime import datetime

from django.db.models import F

from orders.models import Machine, Propeller, Rack, Stage, StageType
from orders.refusal import Refused
from orders.services.shop_check import edited
from orders.who import Who
from quoting.pricing.lines import StageMinutes
from quoting.propeller.build import BEFORE, SKILLS

APART = 1000  # further than any position, to renumber past the unique constraint


def offence(order: Sequence[str]) -> tuple[str, str] | None:
    """The first (earlier, later) pair that stands the wrong way round in a build order; None when it can be built."""
    place = {key: n for n, key in enumerate(order)}
    return next(((a, b) for a, b in BEFORE if a in place and b in place and place[a] > place[b]), None)


def move(who: Who, stage: StageType, *, earlier: bool, now: datetime) -> None:
    """Do a stage one place earlier or later, from the next build on. Raises Refused where the work forbids it."""
    with edited(who, "earlier" if earlier else "later", f"stage {stage.name}", now=now):
        rows = list(StageType.objects.select_for_update().order_by("position"))
        keys = [row.key for row in rows]
        here = keys.index(stage.key)
        there = here + (-1 if earlier else 1)
        if not 0 <= there < len(keys):
            raise Refused("at-the-end", f"“{stage.name}” is {'first' if earlier else 'last'} already.")
        rows[here], rows[there] = rows[there], rows[here]
        wrong = offence([row.key for row in rows])
        if wrong:
            names = {row.key: row.name for row in rows}
            raise Refused("build-order", f"“{names[wrong[0]]}” must come before “{names[wrong[1]]}”.")
        positions = [row.position for row in sorted(rows, key=lambda row: row.position)]
        StageType.objects.filter(pk__in=[rows[here].pk, rows[there].pk]).update(
            position=F("position") + APART
        )
        for row, position in ((rows[here], positions[here]), (rows[there], positions[there])):
            StageType.objects.filter(pk=row.pk).update(position=position)
        _reorder_builds_not_begun()


def change(
    who: Who, stage: StageType, *, skill: str, machine: Machine | None, rack: Rack | None, now: datetime
) -> None:
    """The skill a stage asks for, its machine, and the rack that holds the wait after it.

    Raises Refused at the skill when nobody could do it any more.
    """
    if skill not in SKILLS:
        raise Refused("skill", f"Choose one of {', '.join(SKILLS)}.", status=400, field="skill")
    with edited(who, "change", f"stage {stage.name}", now=now, field="skill"):
        StageType.objects.filter(pk=stage.pk).update(skill=skill, machine=machine, rack=rack)
        Stage.objects.filter(key=stage.key, state=Stage.State.TO_DO).update(skill=skill)


def in_shop_order(work: Iterable[StageMinutes]) -> list[tuple[StageMinutes, str]]:
    """A build's stages in the order the shop does them, each with the skill the shop asks for."""
    rows = {row.key: (row.position, row.skill) for row in StageType.objects.all()}
    given = list(work)
    last = len(rows) + 1
    placed = sorted(given, key=lambda w: rows.get(w.stage, (last, ""))[0])
    order = placed if offence([w.stage for w in placed]) is None else given
    return [(w, rows.get(w.stage, (last, w.skill))[1]) for w in order]


def _reorder_builds_not_begun() -> None:
    """Renumber the stages of propellers on which nothing has been done yet."""
    shop = dict(StageType.objects.values_list("key", "position"))
    fresh = Propeller.objects.filter(state=Propeller.State.PLANNED).exclude(
        stages__state__in=[Stage.State.STARTED, Stage.State.DONE]
    )
    rows = list(Stage.objects.filter(propeller__in=fresh).order_by("propeller_id", "position"))
    Stage.objects.filter(pk__in=[row.pk for row in rows]).update(position=F("position") + APART)
    by_propeller: dict[int, list[Stage]] = {}
    for row in rows:
        by_propeller.setdefault(row.propeller_id, []).append(row)
    for stages in by_propeller.values():
        positions = sorted(row.position for row in stages)
        ordered = sorted(stages, key=lambda row: (shop.get(row.key, APART), row.position))
        for row, position in zip(ordered, positions, strict=True):
            row.position = position
    Stage.objects.bulk_update(rows, ["position"])
