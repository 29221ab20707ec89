"""Every row the catalogue offers can be assessed: each timber, hub pattern, engine and airframe, without a traceback."""

import pytest
from django.conf import settings

from quoting.propeller.assessment import assess
from quoting.propeller.figure import known
from quoting.propeller.finding import Severity
from quoting.propeller.hub import boss
from quoting.propeller.specification import Use, Wish
from quoting.services.catalogue import catalogue
from quoting.services.catalogue_load import load_catalogue
from tests.quoting.samples import INCH, MPH, specification

pytestmark = pytest.mark.django_db


@pytest.fixture
def held():
    load_catalogue(settings.BASE_DIR / "fixtures" / "catalogue")
    return catalogue()


def test_every_timber_is_assessed_or_says_what_is_missing(held):
    for timber in held.timbers.values():
        done = assess(specification(timber=timber))
        assert done.can_be_made, timber.code
        codes = {f.code for f in done.findings if f.severity is Severity.NOT_CHECKED}
        assert ("clamp-crushing" in codes) == (timber.compression_perpendicular is None), timber.code


def test_every_hub_pattern_becomes_a_boss(held):
    for hub in held.hub_patterns.values():
        diameter = 118 * INCH if hub.boss_diameter and hub.boss_diameter.value > 0.2 else 84 * INCH
        use = Use.DISPLAY if hub.is_blank else Use.FLIGHT
        done = assess(specification(hub=hub, use=use, engine=None, diameter=diameter, pitch=0.6 * diameter))
        assert done.can_be_made, (hub.code, [f.message for f in done.findings if f.severity is Severity.STOP])
        shape = boss(specification(hub=hub))
        placed = known(hub.circle) is not None and hub.bolts is not None
        assert len(shape.holes) == (hub.bolts if placed else 0), hub.code
        incomplete = any(f.code == "hub-incomplete" for f in done.findings)
        assert incomplete == (not hub.is_complete), hub.code


def test_every_engine_with_a_rating_is_given_a_size_at_a_likely_speed(held):
    for engine in held.engines.values():
        if engine.rated_power is None or engine.rated_speed is None:
            continue
        ratio = engine.gear_ratio.value if engine.gear_ratio else 1.0
        power_per_turn = engine.rated_power.value / (engine.rated_speed.value / ratio)
        wished = specification(
            engine=engine,
            airframe=None,
            wish=Wish.RECOMMEND,
            diameter=None,
            pitch=None,
            hub_height=None,
            top_speed=min(170 * MPH, max(70 * MPH, 60 * MPH * (power_per_turn / 1000) ** 0.4)),
        )
        done = assess(wished)
        assert done.can_be_made, (
            engine.code,
            [f.message for f in done.findings if f.severity is Severity.STOP],
        )
        assert 45 * INCH < done.measures.diameter < 140 * INCH, engine.code
        assert 0.3 < done.measures.pitch / done.measures.diameter < 1.2, engine.code


def test_every_airframe_is_answered_with_its_usual_engine(held):
    for airframe in held.airframes.values():
        engine = next(
            (held.engines[code] for code in airframe.usual_engine_codes if code in held.engines), None
        )
        wished = specification(
            airframe=airframe,
            engine=engine,
            category=airframe.category,
            position=airframe.position,
            wish=Wish.ENGINE_ONLY,
            diameter=None,
            pitch=None,
            hub_height=None,
        )
        done = assess(wished)
        rated = engine is not None and engine.rated_power is not None and engine.rated_speed is not None
        if airframe.top_speed is not None and rated:
            assert done.can_be_made, (airframe.code, [f.message for f in done.findings])
        else:
            assert {f.field for f in done.findings if f.severity is Severity.STOP} <= {"top_speed", "engine"}
