"""A display piece is told what matters on a wall, and nothing of engines, aeroplanes or bolts it has not."""

import pytest

from quoting.propeller.assessment import assess
from quoting.propeller.checks.wall import CARRIED
from quoting.propeller.finding import Severity
from quoting.propeller.joint import joint
from quoting.propeller.specification import Use
from quoting.propeller.template import pattern_template
from tests.quoting.samples import INCH, birch, blank_boss, mahogany, poplar, published, sae1, specification


def hung(**changes):
    """The findings of a display piece on a blank boss, by code."""
    given = {"use": Use.DISPLAY, "hub": blank_boss(), "engine": None, "airframe": None, "hub_height": None}
    done = assess(specification(**{**given, **changes}))
    assert done.can_be_made, done.findings
    return {f.code: f for f in done.findings}


def test_a_display_piece_is_told_what_matters_on_a_wall_and_nothing_else():
    found = hung()
    assert set(found) == {"not-for-flight", "hanging", "wall-season", "thin-edges"}
    assert [code for code, f in found.items() if f.severity is not Severity.NOTE] == ["not-for-flight"]


def test_an_engine_or_airframe_named_for_the_wall_changes_nothing():
    assert set(hung()) == set(
        {f.code for f in assess(specification(use=Use.DISPLAY, hub=blank_boss())).findings}
    )


def test_the_wall_must_carry_a_multiple_of_the_mass():
    light, heavy = hung()["hanging"], hung(timber=birch(density=published(900, "")))["hanging"]
    assert heavy.figure > 1.2 * light.figure
    assert f"{CARRIED * light.figure / 0.45359237:.1f} lb" in light.message


def test_the_season_moves_the_wood_and_a_room_far_from_the_shops_is_a_caution():
    assert "moves up to" in hung()["wall-season"].message
    unknown = birch(movement_tangential=None, shrinkage_tangential=None)
    assert "not published" in hung(timber=unknown)["wall-season"].message
    dry = hung(climate_humidity=0.2)["moisture-climate"]
    assert (dry.severity, dry.field) == (Severity.CAUTION, "climate_humidity")
    assert "drier" in dry.message and "bolts" not in dry.message


@pytest.mark.parametrize(("wood", "told"), [(poplar(), True), (birch(), False), (mahogany(), False)])
def test_a_wood_for_display_is_right_for_it(wood, told):
    assert ("timber-for-display" in hung(timber=wood)) is told


def test_holes_that_are_drilled_into_a_display_piece_are_still_looked_at_but_never_stop():
    found = hung(hub=sae1(circle=None, hole=None))
    assert found["hub-incomplete"].severity is Severity.CAUTION
    burst = hung(hub=sae1(lug_diameter=published(1.7 * INCH, "")))
    assert burst["edge-wood"].severity is Severity.CAUTION


def test_a_blank_boss_has_no_template_no_holes_and_no_joint():
    done = assess(specification(use=Use.DISPLAY, hub=blank_boss()))
    assert (done.measures.bolt_holes, len(done.boss.holes)) == (0, 0)
    with pytest.raises(ValueError, match="a blank boss has no bolt holes"):
        pattern_template(done.specification.hub, done.boss, 2)
    assert joint(done.boss, birch(), None).clamp is None
