"""Units at the edges: there and back again, published conversions, and lengths read back from a drawing's lettering."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.blade import Blade
from quoting.propeller.drawing.lettering import inches, millimetres
from quoting.services.units import UNITS, to_si

PAIRS = [(quantity, unit) for quantity, factors in UNITS.items() for unit in factors]


@given(st.sampled_from(PAIRS), st.floats(1e-3, 1e6))
def test_a_figure_goes_to_si_and_back_unchanged(pair, value):
    quantity, unit = pair
    assert to_si(value, unit, quantity) / UNITS[quantity][unit] == pytest.approx(value, rel=1e-11)


@given(st.sampled_from([pair for pair in PAIRS if len(UNITS[pair[0]]) > 1]), st.floats(1e-3, 1e6))
def test_the_same_figure_in_another_unit_is_the_same_figure(pair, value):
    quantity, unit = pair
    for other, factor in UNITS[quantity].items():
        there = to_si(value, unit, quantity) / factor
        assert to_si(there, other, quantity) == pytest.approx(to_si(value, unit, quantity), rel=1e-11)


# definitions: 1 mph = 0.868976 kt, 100 hp = 101.39 metric hp, 1 hp = 745.69987 W
@pytest.mark.parametrize(
    ("quantity", "value", "unit", "other", "expected"),
    [
        ("speed", 1, "mph", "kt", 0.868976),
        ("speed", 1, "kt", "km/h", 1.852),
        ("power", 100, "hp", "PS", 101.387),
        ("power", 1, "hp", "W", 745.69987),
        ("length", 4.75, "in", "mm", 120.65),
        ("inertia", 6000, "kg cm2", "kg m2", 0.60),
    ],
)
def test_published_conversions_come_out(quantity, value, unit, other, expected):
    assert to_si(value, unit, quantity) / UNITS[quantity][other] == pytest.approx(expected, rel=1e-5)


def test_look_alike_circles_stay_apart_in_metres():
    assert to_si(4.75, "in", "length") != to_si(120, "mm", "length")


@given(st.floats(0.002, 3.0))
def test_a_length_lettered_on_the_drawing_reads_back(length):
    shown = inches(length).removesuffix(" in")
    read = sum(Fraction(part) for part in shown.split("-"))
    assert float(read) * 0.0254 == pytest.approx(length, abs=0.00103 * 0.0254)
    metric = millimetres(length).removesuffix(" mm").replace("\u202f", "")
    assert float(metric) / 1000 == pytest.approx(length, abs=0.51e-3 if length >= 0.3 else 0.51e-5)


@given(st.floats(0.5, 3.0), st.floats(0.3, 1.5), st.floats(0.2, 0.95))
def test_pitch_goes_to_blade_angle_and_back(diameter, ratio, station):
    blade = Blade.wooden(diameter=diameter, pitch=ratio * diameter)
    table = Blade.from_table(
        diameter=diameter,
        blades=2,
        r_R=blade.r_R,
        c_R=blade.c_R,
        t_c=blade.t_c,
        beta_deg=np.degrees(blade.beta),
    )
    assert float(table.pitch_m(station)) == pytest.approx(ratio * diameter, rel=1e-9)
