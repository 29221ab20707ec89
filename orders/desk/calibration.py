"""How good the dates are: what quotes said against what was kept, what the forecast has learnt, and the load of the shop."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from orders.desk.roles import open_to
from orders.kept_picture import kept_svg
from orders.models import PlanVersion
from orders.services.kept import Kept, by_year, kept_of, said_so_far
from quoting.services.outlook import latest_outlook

OVERLOAD = 0.95
"""Share of what the people can do; past it every range is too early."""
FULL = 0.85


@open_to()
def calibration(request: HttpRequest) -> HttpResponse:
    """Of quotes that said 80 %, this many were kept; and whether more work arrives than can be done."""
    today = timezone.localdate()
    said = said_so_far()
    record = kept_of(said, today)
    current = PlanVersion.objects.filter(current=True).defer("plan").first()
    context = {
        "record": [worded(kept) for kept in record],
        "picture": mark_safe(kept_svg(record)),  # noqa: S308 -- figures and own words alone
        "years": [(name, [worded(kept) for kept in row]) for name, row in by_year(said, today)],
        "loads": loads(current),
        "learnt": learnt(current),
        "outlook": latest_outlook(),
        "plan": current,
        "may_decide": True,
        "now": timezone.now(),
    }
    return render(request, "desk/calibration.html", context)


def worded(kept: Kept) -> dict[str, Any]:
    """One level as the page writes it."""
    return {
        "said": round(100 * kept.level),
        "count": kept.count,
        "kept": kept.kept,
        "share": None if kept.share is None else round(100 * kept.share),
        "low": round(100 * kept.low),
        "high": round(100 * kept.high),
        "verdict": {
            "too early": _("dates were too early"),
            "too late": _("dates were later than need be"),
            "": _("agrees with what was said") if kept.count else _("nothing to judge by yet"),
        }[kept.verdict],
        "wrong": kept.verdict == "too early",
    }


def loads(current: PlanVersion | None) -> list[tuple[str, int, str]]:
    """Share of working time that arriving work takes, by skill, fullest first: (skill, percent, "", "full" or "over")."""
    rows = [
        (
            skill or _("everybody"),
            round(100 * share),
            "over" if share > OVERLOAD else "full" if share > FULL else "",
        )
        for skill, share in (current.load if current else {}).items()
    ]
    return sorted(rows, key=lambda row: -row[1])


def learnt(current: PlanVersion | None) -> dict[str, Any] | None:
    """What the forecast of the plan that stands goes by."""
    found = (current.snapshot or {}).get("calibration") if current else None
    if not found:
        return None
    return {
        "finished": found["finished"],
        "widening": round(max(found["widening"], 1.0), 2),
        "again": round(100 * found["rework"]["again"]),
        "absence": round(100 * found["absence_share"], 1),
        "arrivals": None if found["arrivals_a_day"] is None else round(30 * found["arrivals_a_day"], 1),
    }
