"""One complete example of the data of every paper, invented throughout."""

from datetime import date
from typing import Any

from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Hand, Position
from quoting.propeller.drawing.plan import Wood, propeller_svg
from quoting.propeller.drawing.readiness import range_svg

INCH = 0.0254
HOSTILE = '<GmbH> #x $y$ "quoted" \\ *star* @ref'


def drawing() -> dict[str, str]:
    blade = Blade.wooden(diameter=72 * INCH, pitch=44 * INCH)
    svg = propeller_svg(
        blade, 0.1524, 0.1, None, hand=Hand.RIGHT, position=Position.TRACTOR, wood=Wood("#c9975b", 0.019)
    )
    return {"svg": svg, "words": "A two-blade propeller of 72 inches, seen from its slipstream"}


def _sheet(number: str, state: str) -> dict[str, Any]:
    return {
        "shop": {
            "name": "Otterbank Airscrews",
            "address": ["The Old Malthouse", "Otterbank"],
            "email": "bench@otterbank.example",
            "phone": "01632 960 017",
            "tax_number": "XX 000 0000 00",
        },
        "number": number,
        "revision": "A",
        "date": "2026-11-25",
        "state": state,
        "propeller": "72 x 44 in, two blades, right hand, tractor",
    }


CUSTOMER = {"name": "Alice Example", "address": ["3 Hangar Lane", "Little Flying"]}
MONEY: dict[str, Any] = {
    "currency": "GBP",
    "currency_words": "Pounds sterling",
    "lines": [
        {
            "label": "Yellow birch",
            "quantity": "15.1 bd ft",
            "net": "164.20",
            "note": "six boards of 19 mm, stepped",
        },
        {"label": "Work", "quantity": "11 h 40 min", "net": "752.50"},
        {"label": "Varnish, three coats", "quantity": "0.42 litre", "net": "58.00"},
        {"label": "Crate and freight, zone 2", "quantity": "1", "net": "96.00"},
    ],
    "net": "1070.70",
    "taxes": [{"label": "20 % tax", "base": "1070.70", "tax": "214.14"}],
    "gross": "1284.84",
}
SUMMARY = [
    {"label": "Use", "value": "flight, amateur-built aeroplane"},
    {"label": "Size", "value": "72 x 44 in (1 829 x 1 118 mm), pitch at three quarters of the radius"},
    {"label": "Hub", "value": "6 holes 25/64 in on a 4-3/8 in circle, bore 2-1/4 in"},
    {"label": "Timber", "value": "Yellow birch, six laminations"},
    {"label": "Expected static speed", "value": "2 150 to 2 280 rev/min"},
]


def quote() -> dict[str, Any]:
    picture = range_svg(date(2027, 3, 12), date(2027, 3, 28), date(2027, 4, 10), date(2026, 11, 25))
    return {
        **_sheet("Q-2026-0042", "sent"),
        **MONEY,
        "customer": CUSTOMER,
        "valid_until": "2026-12-25",
        "drawing": drawing(),
        "summary": SUMMARY,
        "deposit": "513.94",
        "balance": "770.90",
        "forecast": {
            "likely_by": "12 March 2027",
            "counts_on": "5 December 2026",
            "plan_on": "28 March 2027",
            "nineteen_in_twenty": "10 April 2027",
            "promise": "28 March 2027",
            "ahead": 23,
            "waits_on": ["your deposit", "your approval of the drawing"],
            "svg": picture,
        },
        "findings": [
            {
                "severity": "note",
                "message": "Tip speed 252 m/s (828 ft/s) flat out, within 270 m/s for wood.",
                "source": "common practice, no source",
            },
            {
                "severity": "caution",
                "message": "180 mm are left under the tips; 230 mm is usual with a tail wheel.",
                "source": "14 CFR 23.925 before amendment 64",
            },
            {
                "severity": "not checked",
                "message": "The engine's limit of inertia is not published.",
            },
        ],
        "accept": {"url": "https://otterbank.example/quotes/7Jq3p0aXvY2n", "until": "2026-12-25"},
        "terms": [
            {"heading": f"{i}. {heading}", "text": text}
            for i, (heading, text) in enumerate(
                [
                    ("What you buy", "One propeller as drawn and described on sheet 1. " * 3),
                    ("Payment", "The deposit with your acceptance, the balance before dispatch. " * 3),
                    ("The date", "We keep your place in the queue from the day the deposit is paid. " * 4),
                ],
                start=1,
            )
        ],
    }


def invoice() -> dict[str, Any]:
    return {
        **_sheet("2026-0117", "issued"),
        **MONEY,
        "title": "Invoice",
        "customer": CUSTOMER,
        "order": "O-0031",
        "supply_date": "2027-03-20",
        "due_date": "2027-04-03",
        "paid": [{"date": "2026-12-01", "words": "deposit, by card", "amount": "513.94"}],
        "due": "770.90",
        "how_to_pay": [
            {"label": "Account", "value": "XX00 0000 0000 0000"},
            {"label": "Reference", "value": "2026-0117"},
        ],
        "pay_url": "https://otterbank.example/pay/7Jq3p0aXvY2n",
        "notes": ["Thank you for the photographs."],
    }


def build_card() -> dict[str, Any]:
    measure = [
        {"label": "Moisture", "unit": "%", "wanted": "8 to 12"},
        {"label": "Room", "unit": "°C", "wanted": "at least 18"},
    ]
    stages = [
        ("Select and condition timber", "lamination", "1 h 10 min", "7 days", measure),
        (
            "Laminate",
            "lamination",
            "2 h 05 min",
            "12 h in the clamps",
            [{"label": "Glue batch", "unit": "", "wanted": ""}],
        ),
        (
            "Bore the centre",
            "drilling",
            "35 min",
            "",
            [{"label": "Bore", "unit": "in", "wanted": "2.250 +0.002 -0"}],
        ),
        (
            "Rough carve",
            "carving",
            "2 h 40 min",
            "",
            [{"label": "Station 27 in", "unit": "in", "wanted": "4.67 x 0.47"}],
        ),
        ("Check track and pitch", "inspection", "45 min", "", measure),
    ]
    return {
        **_sheet("D-0031", "drawn"),
        "serial": "OB 0231",
        "order": "O-0031",
        "ready_by": "28 March 2027",
        "drawing": drawing(),
        "hub": drawing(),  # any picture
        "summary": SUMMARY,
        "station_units": "inches and degrees",
        "stations": [
            {"station": f"{k * 4.5:g}", "chord": "5.38", "thickness": "0.75", "angle": "14.5"}
            for k in range(2, 9)
        ],
        "stages": [
            {
                "label": label,
                "skill": skill,
                "minutes": minutes,
                "wait": wait,
                "steps": ["Choose quarter-sawn boards free of knots.", "Weigh and mark each."],
                "fields": fields,
            }
            for label, skill, minutes, wait, fields in stages
        ],
        "cautions": ["The bolt circle is 4-3/8 in: not 4-3/4 in, not 120 mm."],
    }


def build_record() -> dict[str, Any]:
    return {
        **_sheet("R-0231", "measured"),
        "serial": "OB 0231",
        "customer": "Alice Example",
        "summary": SUMMARY,
        "stages": [
            {
                "label": "Laminate",
                "date": "2027-02-03",
                "person": "W. Turner",
                "measured": [
                    {"label": "Moisture", "value": "9.4 %", "wanted": "8 to 12 %", "within": "yes"},
                    {"label": "Room", "value": "19 °C", "wanted": "at least 18 °C", "within": "yes"},
                ],
            },
            {
                "label": "Balance",
                "date": "2027-03-14",
                "person": "W. Turner",
                "measured": [
                    {
                        "label": "Residual unbalance",
                        "value": "120 g mm",
                        "wanted": "at most 105 g mm",
                        "within": "no",
                    }
                ],
                "remark": "varnish added to blade 2, weighed again at the final balance",
            },
            {"label": "Varnish", "date": "2027-03-18", "person": "M. Shore", "measured": []},
        ],
        "released_by": "M. Shore",
        "released_on": "2027-03-20",
    }


def care_sheet() -> dict[str, Any]:
    return {
        **_sheet("C-0231", "issued"),
        "serial": "OB 0231",
        "torque": [
            {"label": "Start with", "value": "17 lbf ft (23 N m)"},
            {"label": "Never more than", "value": "20 lbf ft (27 N m)"},
        ],
        "torque_source": "computed from the wood's proportional limit across the grain and K = 0.2",
        "track_limit": "1/16 in (1.6 mm)",
        "summary": SUMMARY[:3],
    }


def serial_label() -> dict[str, Any]:
    return {
        **_sheet("D-0031", "drawn"),
        "serial": "OB 0231",
        "register_url": "https://otterbank.example/register/OB-0231",
    }


def packing_list() -> dict[str, Any]:
    return {
        **_sheet("P-0031", "packed"),
        "customer": CUSTOMER,
        "order": "O-0031",
        "serial": "OB 0231",
        "crate": [
            {"label": "Crate", "value": "2.00 x 0.32 x 0.24 m"},
            {"label": "Mass", "value": "14.2 kg with crate"},
        ],
        "items": [
            {"item": "Propeller 72 x 44, serial OB 0231", "quantity": "1"},
            {"item": "Care sheet and build record", "quantity": "1"},
            {"item": "Face plate", "quantity": "1"},
        ],
    }


PAPERS = {
    "quote": quote,
    "invoice": invoice,
    "build-card": build_card,
    "build-record": build_record,
    "care-sheet": care_sheet,
    "serial-label": serial_label,
    "packing-list": packing_list,
}
