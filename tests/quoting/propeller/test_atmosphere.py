"""Standard air and the power it leaves: published values stand among the comparisons, laws and refusals here."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.atmosphere import HIGHEST, LOWEST, SEA_LEVEL, Air, power_fraction

altitudes = st.floats(LOWEST, HIGHEST)


@given(altitudes, st.floats(-40, 40))
def test_air_obeys_the_gas_law(altitude, offset):
    air = Air.at(altitude, offset)
    assert air.pressure == pytest.approx(air.density * 287.05287 * air.temperature)


@given(altitudes, altitudes)
def test_higher_air_is_never_denser_and_leaves_no_more_power(one, other):
    low, high = Air.at(min(one, other)), Air.at(max(one, other))
    assert high.density <= low.density
    assert power_fraction(high) <= power_fraction(low)


def test_warm_air_is_thinner_at_the_same_pressure():
    assert Air.at(1000, 20).density < Air.at(1000).density
    assert Air.at(1000, 20).pressure == Air.at(1000).pressure


def test_sea_level_leaves_full_power():
    assert power_fraction(SEA_LEVEL) == pytest.approx(1)


# Gagg and Ferrar at half density: 1.132 / 2 - 0.132
def test_half_density_leaves_434_thousandths_of_the_power():
    half = Air(0.6125, 300, 2e-5, 240, 40_000)
    assert power_fraction(half) == pytest.approx(0.434)


@pytest.mark.parametrize("altitude", [math.nan, math.inf, -600, 12_000, 1e9])
def test_air_beyond_the_table_is_refused(altitude):
    with pytest.raises(ValueError, match="altitude: .* accepted are -500 to 11000 m"):
        Air.at(altitude)
