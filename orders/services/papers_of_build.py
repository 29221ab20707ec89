"""What stands on build card, build record, care sheet and packing list, gathered from their rows."""

from typing import Any

from django.utils import formats, timezone

from orders.models import Propeller, Stage
from orders.services import accepted
from orders.services.measurements import Measurement, judge, limits_words, measurements
from orders.services.papers_of_sale import party, seller
from orders.services.pictures import drawing, propeller_summary, stations
from orders.services.release import latest_record
from quoting.pricing.lines import Category
from quoting.propeller.build import CRATING, INSPECTION
from quoting.propeller.checks.evidence import COMMON_PRACTICE
from quoting.services.quotes import specification_of

POUND_INCH = 0.1129848
"""N m in a pound-force inch."""
NOT_FOR_FLIGHT = "Display piece: stamp NOT FOR FLIGHT on the boss."


def _sheet(propeller: Propeller, number: str, day: str, state: str) -> dict[str, Any]:
    return {
        "shop": seller(),
        "number": number,
        "revision": "1",
        "date": day,
        "state": state,
        "propeller": propeller.order.title,
        "display_only": propeller.order.display_only,
        "serial": str(propeller.serial),
    }


def build_card(propeller: Propeller) -> dict[str, Any]:
    """The guide that travels with the work."""
    order = propeller.order
    specification, results = specification_of(order.quote), accepted.results(order)
    wanted = measurements(accepted.build_figures(propeller))
    queued = timezone.localdate(order.queued_at or order.accepted_at)
    hub = specification.hub
    return {
        **_sheet(propeller, f"D-{propeller.serial}", queued.isoformat(), "drawn"),
        "order": order.number,
        "ready_by": formats.date_format(order.promise, "j F Y") if order.promise else "not promised",
        "drawing": drawing(specification, results.measures),
        "summary": propeller_summary(specification, results.measures),
        "station_units": "millimetres and degrees",
        "stations": stations(specification, results.measures),
        "stages": [
            _card_stage(stage, wanted.get(stage.key, ())) for stage in propeller.stages.order_by("position")
        ],
        "cautions": [
            *([NOT_FOR_FLIGHT] if order.display_only else []),
            *(
                []
                if hub.is_complete
                else ["The hub pattern is incomplete: measure before drilling, use no template."]
            ),
            "A computed check is no approval: the engine's and airframe's approved data go first.",
        ],
    }


def _card_stage(stage: Stage, wanted: tuple[Measurement, ...]) -> dict[str, Any]:
    return {
        "label": stage.label,
        "skill": stage.skill,
        "minutes": duration(stage.minutes),
        **({"wait": duration(stage.wait_minutes)} if stage.wait_minutes else {}),
        "steps": [],
        "fields": [{"label": m.label, "unit": m.unit, "wanted": limits_words(m)} for m in wanted],
    }


def weighed(propeller: Propeller) -> float | None:
    """The mass found at the inspection, in kg; None before."""
    stage = propeller.stages.filter(key=INSPECTION).first()
    record = latest_record(stage) if stage else None
    mass = record.measurements.get("mass") if record else None
    return mass if isinstance(mass, int | float) else None


def build_record(propeller: Propeller) -> dict[str, Any]:
    """What was measured on this very propeller."""
    order = propeller.order
    released = propeller.released_at or timezone.now()
    wanted = measurements(accepted.build_figures(propeller))
    return {
        **_sheet(propeller, f"R-{propeller.serial}", timezone.localdate(released).isoformat(), "measured"),
        "customer": order.address.get("name", order.customer.name),
        "summary": propeller_summary(
            specification_of(order.quote), accepted.results(order).measures, weighed=weighed(propeller)
        ),
        "stages": [
            row
            for stage in propeller.stages.order_by("position")
            if (row := _record_stage(stage, wanted.get(stage.key, ())))
        ],
        "released_by": propeller.released_by,
        "released_on": timezone.localdate(released).isoformat() if propeller.released_at else "",
    }


def _record_stage(stage: Stage, wanted: tuple[Measurement, ...]) -> dict[str, Any] | None:
    record = latest_record(stage)
    if record is None:
        return None
    outside = {f.field for f in judge(wanted, record.measurements)[1] if f.code == "out-of-limits"}
    bounded = {m.key for m in wanted if m.low is not None or m.high is not None or m.word}
    return {
        "label": stage.label,
        "date": timezone.localdate(record.recorded_at).isoformat(),
        "person": record.person.name,
        "measured": [
            {
                "label": m.label,
                "value": f"{record.measurements.get(m.key, '')} {m.unit}".strip(),
                "wanted": limits_words(m),
                "within": ("no" if m.key in outside else "yes") if m.key in bounded else "",
            }
            for m in wanted
        ],
        **({"remark": record.note} if record.note else {}),
    }


def care_sheet(propeller: Propeller) -> dict[str, Any]:
    """How to fit, re-check and keep it; the bolt torque is the one the customer was quoted."""
    order = propeller.order
    torque, source = bolt_torque(propeller)
    sent = timezone.localdate(order.dispatched_at or timezone.now())
    return {
        **_sheet(propeller, f"C-{propeller.serial}", sent.isoformat(), "issued"),
        "torque": torque,
        "torque_source": source,
        "track_limit": "1/16 in (1.6 mm)",
        "summary": propeller_summary(
            specification_of(order.quote), accepted.results(order).measures, weighed=weighed(propeller)
        ),
    }


def bolt_torque(propeller: Propeller) -> tuple[list[dict[str, str]], str]:
    """The torque found for the accepted quote with its caution; nothing where none was worked out."""
    order = propeller.order
    found = next((f for f in accepted.results(order).findings if f.code == "bolt-torque"), None)
    if found is None or order.display_only:
        return [], ""
    if found.figure is None:
        usual = found.source == COMMON_PRACTICE
        return ([{"label": "Not checked", "value": found.message}] if usual else []), ""
    rows = [{"label": "Tighten each bolt to (for which bolts: below)", "value": _torque_words(found.figure)}]
    if found.limit is not None:
        rows.append({"label": "Never more than", "value": _torque_words(found.limit)})
    return rows, found.message


def _torque_words(newton_metres: float) -> str:
    return f"{newton_metres:.1f} N m ({newton_metres / POUND_INCH:.0f} lbf in)"


def packing_list(propeller: Propeller) -> dict[str, Any]:
    """What is packed, printed when the propeller is crated; without a crate where none was ordered."""
    order = propeller.order
    packed = latest_record(propeller.stages.get(key=CRATING))
    results = accepted.results(order)
    m, crated = results.measures, any(line.category is Category.CRATE for line in results.price.lines)
    size = f"{m.crate_length:.2f} x {m.crate_width:.2f} x {m.crate_height:.2f} m"
    day = timezone.localdate(packed.recorded_at if packed else timezone.now())
    return {
        **_sheet(propeller, f"P-{propeller.serial}", day.isoformat(), "packed"),
        "customer": party(order.address),
        "order": order.number,
        "crate": [
            *([{"label": "Crate", "value": size}] if crated else []),
            {"label": "Propeller", "value": _mass(propeller, m.mass)},
        ],
        "items": [
            {"item": f"Propeller {order.title}, serial {propeller.serial}", "quantity": "1"},
            {"item": "Build record and care sheet", "quantity": "1"},
        ],
    }


def _mass(propeller: Propeller, computed: float) -> str:
    """The mass as weighed at the inspection, else as computed (kg)."""
    found = weighed(propeller)
    return f"{computed:.1f} kg, computed" if found is None else f"{found:g} kg, weighed"


def duration(minutes: int) -> str:
    """Minutes as read: 1 h 20 min, 7 days."""
    if minutes >= 2 * 1440 and minutes % 1440 == 0:
        return f"{minutes // 1440} days"
    hours, rest = divmod(minutes, 60)
    return " ".join(
        part for part in (f"{hours} h" if hours else "", f"{rest} min" if rest or not hours else "") if part
    )
