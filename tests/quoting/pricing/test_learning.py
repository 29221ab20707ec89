"""Recorded minutes move the proposals as far as they are many, and no further."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.pricing.learning import KEYS, Bias, Lessons, Record, huber, lessons, size_of
from quoting.pricing.minutes import work_content
from quoting.propeller.build import STAGES
from tests.quoting.pricing.shapes import book, measures
from tests.quoting.samples import brass_guard, specification


def records(ratio: float, count: int, stage: str = "sand", timber: str = "yellow-birch") -> list[Record]:
    """So many records with an even scatter of a tenth about the ratio, over two sizes."""
    scatter = [math.exp(0.1 * math.sin(2.4 * n)) for n in range(count)]
    return [
        Record(stage, timber, 1.6 + 0.3 * (n % 2), 200, round(200 * ratio * s)) for n, s in enumerate(scatter)
    ]


def steady(count: int = 40) -> list[Record]:
    """Other stages that come out as estimated, so that a bias of one stage is told from one of all."""
    return [r for stage in ("rough-carve", "track", "drill", "varnish") for r in records(1.0, count, stage)]


def bias(found: Lessons, group: str) -> Bias:
    return next(b for b in found.biases if b.group == group)


def test_many_records_of_a_fifth_longer_teach_a_fifth() -> None:
    found = bias(lessons([*steady(), *records(1.2, 60)], book()), "sand")
    assert found.ratio == pytest.approx(1.2, abs=0.04)
    assert found.low < found.ratio < found.high


def test_few_records_are_drawn_towards_the_estimate() -> None:
    ratios = [bias(lessons([*steady(), *records(1.5, n)], book()), "sand").ratio for n in (1, 3, 10, 60)]
    assert 1.0 < ratios[0] < ratios[1] < ratios[2] < ratios[3] < 1.55
    assert ratios[0] < 1.25


def test_one_wild_record_in_twenty_moves_little() -> None:
    wild = [*steady(), *records(1.0, 19), Record("sand", "yellow-birch", 1.7, 200, 4000)]
    assert bias(lessons(wild, book()), "sand").ratio == pytest.approx(1.0, abs=0.06)


def test_a_slow_timber_is_told_from_a_slow_stage() -> None:
    stages = ("rough-carve", "sand", "varnish", "drill")
    given = [
        r for s in stages for t, x in (("yellow-birch", 1.0), ("wenge", 1.4)) for r in records(x, 25, s, t)
    ]
    found = lessons(given, book())
    assert bias(found, "wenge").ratio / bias(found, "yellow-birch").ratio == pytest.approx(1.4, abs=0.1)
    spread = [b.ratio for b in found.biases if b.by == "stage"]
    assert max(spread) / min(spread) < 1.05


def test_a_proposal_is_the_entry_times_the_bias_with_its_reason() -> None:
    found = lessons([*steady(), *records(1.3, 60)], book())
    belt = next(p for p in found.proposals if p.key == "sand.belt")
    assert belt.value == Decimal(160)
    assert 195 <= belt.proposed <= 215
    assert belt.count == 60 and "sand takes" in belt.why


def test_fewer_than_five_records_propose_nothing() -> None:
    assert lessons(records(1.6, 4), book()).proposals == ()


def test_a_proposal_stays_within_the_entrys_bounds() -> None:
    tight = book().redrafted("2", {})
    entry = tight.entries["sand.belt"]
    tight = replace(tight, entries={**tight.entries, "sand.belt": replace(entry, high=Decimal(165))})
    found = lessons([*steady(), *records(1.5, 60)], tight)
    assert next(p for p in found.proposals if p.key == "sand.belt").proposed == Decimal(165)


def test_mahogany_that_balances_slowly_gets_an_entry_of_its_own() -> None:
    given = [
        r for t, x in (("yellow-birch", 1.0), ("true-mahogany", 1.5)) for r in records(x, 60, "balance", t)
    ]
    carved = [r for t in ("yellow-birch", "true-mahogany") for r in records(1.0, 120, "rough-carve", t)]
    found = {p.key: p for p in lessons([*given, *carved], book()).proposals}
    assert found["balance.timber.true-mahogany"].proposed > Decimal("1.1")
    drafted = book().redrafted("2", {k: p.proposed for k, p in found.items()})
    assert (
        drafted.entries["balance.timber.true-mahogany"].value
        == found["balance.timber.true-mahogany"].proposed
    )


def test_drafting_the_proposals_brings_the_estimate_to_the_record() -> None:
    slow = [Record(s, "yellow-birch", 1.83, 100, 130) for s in STAGES for _ in range(200)]
    draft = book().redrafted("2", {p.key: p.proposed for p in lessons(slow, book()).proposals})
    before, after = (
        sum(s.minutes for s in work_content(measures(), specification(), b)) for b in (book(), draft)
    )
    assert after / before == pytest.approx(1.3, abs=0.05)


def test_every_stage_scales_with_its_keys() -> None:
    shape = measures(guard_length=0.6, boss_thickness=0.06, boss_width_ratio=1.6)
    of = specification(guard=brass_guard())
    was = {s.stage: s.minutes for s in work_content(shape, of, book())}
    for stage, keys in KEYS.items():
        doubled = book().redrafted("2", {k: book()[k] * 2 for k in keys})
        now = {s.stage: s.minutes for s in work_content(shape, of, doubled)}
        assert abs(now[stage] - 2 * was[stage]) <= 1, stage
        assert {s: m for s, m in now.items() if s != stage} == {s: m for s, m in was.items() if s != stage}


def test_records_without_minutes_are_counted_and_left_out() -> None:
    found = lessons([*records(1.0, 6), Record("decal", "yellow-birch", 1.7, 0, 15)], book())
    assert found.left_out == 1
    assert [b.group for b in found.biases if b.by == "stage"] == ["sand"]


@pytest.mark.parametrize(
    "change", [{"estimated": -1}, {"recorded": -5}, {"diameter": 0.0}, {"diameter": math.nan}]
)
def test_a_record_that_cannot_be_is_refused(change: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="sand"):
        lessons([replace(records(1.0, 1)[0], **change)], book())


def test_nothing_recorded_teaches_nothing() -> None:
    assert lessons([], book()) == Lessons((), (), (), 0)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(sorted(STAGES)), st.integers(1, 900)), min_size=1, max_size=40),
    st.randoms(),
)
def test_the_order_of_records_does_not_matter(found: list[tuple[str, int]], chance: object) -> None:
    given = [Record(stage, "yellow-birch", 1.7, 120, minutes) for stage, minutes in found]
    mixed = list(given)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert lessons(given, book()) == lessons(mixed, book())


def test_hubers_location_of_even_values_is_their_mean() -> None:
    location, scatter = huber([0.9, 1.0, 1.1, 1.0])
    assert location == pytest.approx(1.0)
    assert scatter > 0


@pytest.mark.parametrize(
    ("diameter", "size"), [(1.49, "under 1.5 m"), (1.5, "1.5 to 1.8 m"), (2.6, "2.1 m and over")]
)
def test_sizes_are_told_by_diameter(diameter: float, size: str) -> None:
    assert size_of(diameter) == size
