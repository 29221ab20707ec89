"""The table of stages: it can be built in its order, and what is done again spoils what rests on it."""

import pytest

from orders.services.measurements import BuildFigures, measurements
from quoting.pricing.learning import KEYS
from quoting.pricing.minutes import _WORK
from quoting.propeller.build import (
    BEFORE,
    CRATING,
    INSPECTION,
    MOCK_UP_BEFORE,
    SKILLS,
    STAGES,
    Work,
    undone_with,
)

PLACE = {key: place for place, key in enumerate(STAGES)}
FIGURES = BuildFigures(1830.0, 100.0, 60.0, 110.0, 8.0, 6, 5, 21.0, 900.0, "260001", display_only=True)


def test_every_stage_comes_after_all_that_it_waits_for() -> None:
    assert [(a, b) for a, b in BEFORE if PLACE[a] >= PLACE[b]] == []


def test_every_stage_has_its_minutes_and_what_they_are_learnt_by() -> None:
    assert list(_WORK) == list(STAGES) == list(KEYS)


def test_nothing_is_measured_at_a_stage_that_is_not_in_the_build() -> None:
    assert set(measurements(FIGURES)) < set(STAGES)


def test_nothing_that_is_measured_may_be_left_out() -> None:
    spared = {key for key, stage in STAGES.items() if stage.may_be_left_out}
    assert spared == {"edge-guard", "decal"} and not spared & set(measurements(FIGURES))


@pytest.mark.parametrize("key", [key for key, stage in STAGES.items() if stage.work is Work.CUT])
def test_wood_taken_off_again_costs_track_balance_and_finish(key: str) -> None:
    assert undone_with(key) >= {"track", "balance", "varnish", "final-balance", "inspect", "crate"}
    assert not undone_with(key) & {"drill", "stamp", "condition", "laminate"}


def test_a_blank_made_anew_leaves_nothing_of_what_followed() -> None:
    assert undone_with("laminate") == set(STAGES) - {"condition", "laminate"}


def test_holes_drilled_again_are_sealed_again() -> None:
    assert undone_with("drill") == {"seal-holes", "final-balance", "inspect", "crate"}


def test_whatever_is_done_again_is_balanced_and_inspected_again_and_the_last_spoils_nothing() -> None:
    for key in list(STAGES)[: PLACE["final-balance"]]:
        assert undone_with(key) >= {"final-balance", INSPECTION, CRATING}
    assert undone_with(INSPECTION) == {CRATING} and undone_with(CRATING) == frozenset()


def test_a_stage_reads_as_a_heading_and_every_skill_is_asked_for() -> None:
    assert (STAGES["edge-guard"].name, MOCK_UP_BEFORE) == ("Edge guard and tip cloth", "varnish")
    assert set(SKILLS) == {stage.skill for stage in STAGES.values()} and len(SKILLS) == 6
