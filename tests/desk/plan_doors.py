"""The doors of the shop model and the plan: name, parts of the path, who besides the owner, whether it is a post."""

from datetime import date

from orders.models import Absence, Closure, Machine, Order, Stage, TimberLot
from orders.services import questions
from orders.services.opening import add_sign_in
from tests.orders.shop import Shop

DOORS: tuple[tuple[str, tuple[str, ...], tuple[str, ...], bool], ...] = (
    ("plan", (), ("bench",), False),
    ("plan-news", (), ("bench",), False),
    ("plan-key", (), (), True),
    ("plan-undo", (), (), True),
    ("plan-all-by-promise", (), (), True),
    ("plan-stage", ("plan-stage",), (), False),
    ("plan-fix", ("plan-stage",), (), True),
    ("plan-order", ("plan-order",), (), False),
    ("plan-before", ("plan-order",), (), True),
    ("plan-hold", ("plan-order",), (), True),
    ("plan-take-up", ("plan-order",), (), True),
    ("plan-timber", ("plan-order", "here"), (), True),
    ("plan-move", ("plan-order", "sooner"), (), True),
    ("day-sheets", (), ("bench",), False),
    ("day-sheet", ("person",), ("bench",), False),
    ("what-if", (), (), False),
    ("ask", ("away",), (), True),
    ("search", (), (), True),
    ("question", ("question",), (), False),
    ("question-cancel", ("question",), (), True),
    ("calibration", (), (), False),
    ("shop", (), (), False),
    ("hours", (), (), True),
    ("close", (), (), True),
    ("open-again", ("closure",), (), True),
    ("people", (), (), False),
    ("person-add", (), (), True),
    ("person", ("person",), (), False),
    ("person-change", ("person",), (), True),
    ("absence", ("person",), (), True),
    ("absence-back", ("person", "absence"), (), True),
    ("calendar-make", ("person",), (), True),
    ("calendar-revoke", ("person",), (), True),
    ("machines", (), (), False),
    ("machine-add", (), (), True),
    ("machine-change", ("machine",), (), True),
    ("out-of-use", ("machine",), (), True),
    ("in-use", ("machine", "day", "day"), (), True),
    ("rack-add", (), (), True),
    ("rack-change", ("rack",), (), True),
    ("take-away", ("rack-kind", "rack"), (), True),
    ("stages", (), (), False),
    ("stage-change", ("stage-key",), (), True),
    ("stage-move", ("stage-key", "earlier"), (), True),
    ("person-leave", ("person",), (), True),
    ("timber", (), (), False),
    ("timber-add", (), (), True),
    ("timber-change", ("lot",), (), True),
    ("timber-used-up", ("lot",), (), True),
    ("timber-put-back", ("lot",), (), True),
    ("sign-ins", (), (), False),
    ("sign-in-add", (), (), True),
    ("sign-in-roles", ("member",), (), True),
    ("sign-in-end", ("member",), (), True),
    ("details", (), (), False),
    ("details-change", (), (), True),
)


def places_of(shop: Shop) -> dict[str, object]:
    """One of everything these paths name."""
    long_ago = date(2020, 1, 6)
    return {
        "person": shop.wes.key,
        "absence": Absence.objects.create(person=shop.wes, first_day=long_ago, last_day=long_ago).pk,
        "closure": Closure.objects.create(first_day=long_ago, last_day=long_ago).pk,
        "machine": "bandsaw",
        "rack-kind": "rack",
        "rack": "hooks",
        "day": "2020-01-06",
        "stage-key": "stamp",
        "earlier": "earlier",
        "plan-stage": Stage.objects.first().pk,
        "plan-order": Order.objects.first().number,
        "here": "here",
        "sooner": "sooner",
        "away": "away",
        "member": add_sign_in("Ada Finch", "ada@example.org", ["bench"], None).pk,
        "lot": TimberLot.objects.create(
            lot="B-1", timber_code="yellow-birch", board_feet=10, moisture=95, received_on=long_ago
        ).pk,
        "question": questions.machine(shop.owner, Machine.objects.get(), now=shop.now).pk,
    }
