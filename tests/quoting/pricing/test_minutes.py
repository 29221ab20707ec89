"""Minutes of every stage come from the geometry and can be worked again from what is shown."""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest

from quoting.pricing.lines import StageMinutes
from quoting.pricing.minutes import work_content
from quoting.pricing.refusal import Refused
from quoting.pricing.tally import WORKED_OUT
from quoting.pricing.waits import too_cold
from quoting.propeller.build import STAGES
from quoting.propeller.finding import Severity
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Decal, Specification
from tests.quoting.pricing.shapes import book, measures
from tests.quoting.samples import birch, brass_guard, mahogany, specification, usual, varnish

ORDER = (
    "condition laminate rest bore rough-carve shape-boss trim-tips sand track balance drill stamp edge-guard "
    "varnish seal-holes decal final-balance inspect crate"
).split()


def stages(
    shape: Measures | None = None, of: Specification | None = None, **values: object
) -> dict[str, StageMinutes]:
    return {s.stage: s for s in work_content(shape or measures(), of or specification(), book(**values))}


def reworked(stage: StageMinutes, unit: str) -> Decimal:
    """The sum of the products shown, worked again from the factors alone."""
    result, product = Decimal(0), Decimal(1)
    for working in stage.workings:
        if working.origin == WORKED_OUT:
            result += product if working.unit == unit else 0
            product = Decimal(1)
        else:
            product *= working.value
    return result


def test_all_nineteen_stages_come_in_build_order() -> None:
    assert list(stages()) == ORDER == list(STAGES)


def test_a_72_by_44_in_birch_takes_two_to_three_days_at_the_bench() -> None:
    assert 14 * 60 <= sum(s.minutes for s in stages().values()) <= 22 * 60


def test_minutes_and_waits_can_be_worked_again_from_their_workings() -> None:
    full = specification(guard=brass_guard(), decal=Decal("ASTRA"), moisture=12.5)
    for stage in stages(
        measures(guard_length=0.64, boss_width_ratio=1.6, boss_thickness=0.07), full
    ).values():
        assert stage.minutes == reworked(stage, "min").quantize(Decimal(1), ROUND_HALF_UP), stage.stage
        assert stage.wait_minutes == (reworked(stage, "h") * 60).quantize(Decimal(1), ROUND_HALF_UP), (
            stage.stage
        )


def test_a_two_blade_boss_takes_ten_to_fifteen_minutes_at_the_sander() -> None:
    sander = [w for w in stages()["shape-boss"].workings if w.name == "drum sander"]
    assert [10 <= w.value <= 15 for w in sander] == [True]


@pytest.mark.parametrize(
    "change", [{"boss_width_ratio": 1.8}, {"boss_thickness": 0.06, "boss_diameter": 0.26}]
)
def test_a_wide_or_a_thin_boss_takes_longer_to_blend(change: dict[str, float]) -> None:
    assert stages(measures(**change))["shape-boss"].minutes > stages()["shape-boss"].minutes


def test_mahogany_sands_faster_and_balances_slower() -> None:
    red = stages(of=specification(timber=mahogany()), balance__timber__true_mahogany="1")
    slow = {
        s.stage: s
        for s in work_content(
            measures(),
            specification(timber=mahogany()),
            book().redrafted("2", {"balance.timber.true-mahogany": Decimal("1.5")}),
        )
    }
    assert slow["sand"].minutes < stages()["sand"].minutes
    assert slow["balance"].minutes > stages()["balance"].minutes == red["balance"].minutes


def test_stages_that_nothing_was_ordered_for_take_no_time() -> None:
    assert (stages()["edge-guard"].minutes, stages()["decal"].minutes, stages()["decal"].wait_minutes) == (
        0,
        0,
        0,
    )


def test_the_finish_says_how_many_coats_and_the_book_where_it_does_not() -> None:
    five = stages(of=specification(finish=replace(varnish(), coats=5)))["varnish"]
    silent = specification(finish=replace(varnish(), coats=0))
    assert five == stages(of=specification(finish=replace(varnish(), coats=5)), varnish__coats=2)["varnish"]
    assert (
        stages(of=silent, varnish__coats=3)["varnish"].minutes == stages()["varnish"].minutes < five.minutes
    )


def test_glue_at_eleven_degrees_waits_twice_as_long_as_at_twenty_one() -> None:
    warm, cool = stages(shop__temperature=21), stages(shop__temperature=11)
    assert warm["laminate"].wait_minutes == 14 * 60
    assert cool["laminate"].wait_minutes == 28 * 60
    assert cool["varnish"].wait_minutes == 2 * warm["varnish"].wait_minutes == 2 * 3 * 16 * 60


def test_a_shop_colder_than_the_glue_allows_is_a_caution() -> None:
    assert too_cold(specification(), book(shop__temperature=21)) == ()
    found = too_cold(specification(), book(shop__temperature=18.5))
    assert [(f.severity, f.field, f.figure, f.limit) for f in found] == [
        (Severity.CAUTION, "glue", 18.5, 21.0)
    ]
    assert "18.5 °C" in found[0].message


@pytest.mark.parametrize(
    "field", ["wood_removed", "blade_surface", "board_feet", "boss_thickness", "crate_length"]
)
@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf"), 1e9])
def test_a_measure_no_propeller_has_is_refused_by_name(field: str, value: float) -> None:
    with pytest.raises(Refused) as refused:
        stages(measures(**{field: value}))
    assert refused.value.finding.field == field


def test_a_timber_of_no_workability_is_refused_by_name() -> None:
    with pytest.raises(Refused, match=r"timber\.workability"):
        stages(of=specification(timber=birch(workability=usual(float("nan")))))
