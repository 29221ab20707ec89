"""How much work keeps arriving, and how much of the people's time it takes: of everybody's, and of each skill's holders'."""

from collections.abc import Sequence
from math import exp

from quoting.leadtime.calibration import Calibration
from quoting.leadtime.queue import Task
from quoting.leadtime.shop import Shop

OVERLOAD = 0.95  # share of what the people can do; past it every range is too early


def skill_loads(shop: Shop, route: Sequence[Task], calibration: Calibration) -> dict[str, float]:
    """Share of working time that one order a day of this route takes: of everybody ("") and of each skill's holders.

    Work as calibrated, redoing and absence included; infinite where nobody is there.
    """
    skill = {s.key: s.skill for s in shop.stages}
    loop = calibration.rework
    repeats = sum(loop.again**k for k in range(1, loop.most + 1)) * (loop.pass_share + loop.touch_share)
    work: dict[str, float] = {}
    for task in route:
        name = skill.get(task.stage, "")
        minutes = task.work * exp(calibration.ratio(task.stage).log_ratio)
        work[name] = work.get(name, 0.0) + minutes * (1 + repeats if task.stage == loop.stage else 1)
    loads = {}
    for name in ["", *work]:
        people = [p for p in shop.persons if not name or name in p.skills]
        hours = sum(end - start for p in people for day in p.week for start, end in day)
        minutes = work[name] if name else sum(work.values())
        loads[name] = 7 * minutes / (hours * (1 - calibration.absence_share)) if hours else float("inf")
    return loads


def arrivals_a_day(shop: Shop, route: Sequence[Task], calibration: Calibration) -> float:
    """Orders a calendar day: learnt, or on a cold start as many as load the narrowest skill to the assumed share."""
    if calibration.arrivals_a_day is not None:
        return calibration.arrivals_a_day
    return calibration.assumed_load / (max(skill_loads(shop, route, calibration).values()) or 1.0)


def overloaded(shop: Shop, typical: Sequence[Task], calibration: Calibration) -> bool:
    """Whether more is arriving than the people, or the only ones with some skill, can do."""
    return load(shop, typical, calibration) > OVERLOAD


def load(shop: Shop, typical: Sequence[Task], calibration: Calibration) -> float:
    """Share of working time that arriving work takes, of all people or of the narrowest skill's holders."""
    a_day = arrivals_a_day(shop, typical, calibration)
    return a_day * max(skill_loads(shop, typical, calibration).values(), default=0.0)
