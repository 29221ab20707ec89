"""Wood and water against the Wood Handbook: moisture, density, movement."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.propeller.timber import (
    Ring,
    density,
    density_from_basic_gravity,
    equilibrium_moisture,
    movement,
    seasons,
)
from tests.quoting.samples import birch, mahogany, published

# Wood Handbook FPL-GTR-190 Table 4-2 is computed from equation 4-5; tolerance 0.1 of the printed table
TABLE_4_2 = [
    (-1.1, 0.30, 6.3),
    (-1.1, 0.80, 16.5),
    (10.0, 0.20, 4.6),
    (10.0, 0.65, 12.3),
    (21.1, 0.20, 4.5),
    (21.1, 0.50, 9.2),
    (21.1, 0.65, 12.0),
    (21.1, 0.90, 20.5),
    (32.2, 0.40, 7.4),
    (43.3, 0.70, 12.0),
]


@pytest.mark.parametrize(("temperature", "humidity", "expected"), TABLE_4_2)
def test_wood_settles_to_the_handbooks_moisture(temperature, humidity, expected):
    assert equilibrium_moisture(temperature, humidity) == pytest.approx(expected, abs=0.1)


@given(st.floats(-20, 70), st.floats(0, 0.97))
def test_damper_air_never_dries_wood(temperature, humidity):
    assert equilibrium_moisture(temperature, humidity + 0.01) > equilibrium_moisture(temperature, humidity)


def test_air_that_was_never_fitted_is_refused_by_name():
    with pytest.raises(ValueError, match="humidity: 1.2 given"):
        equilibrium_moisture(20, 1.2)
    with pytest.raises(ValueError, match="temperature"):
        equilibrium_moisture(float("nan"), 0.5)


# Wood Handbook FPL-GTR-190 chapter 4: specific gravity 0.40 at 12 % weighs 448 kg/m3
def test_density_at_twelve_percent_is_the_handbooks():
    spruce = birch(density=published(448.0, "Wood Handbook, chapter 4"), shrinkage_radial=None)
    assert density(spruce, 12.0) == pytest.approx(448.0)


# computed from Wood Handbook Table 5-5 basic gravities 0.45 and 0.42, Table 4-4 shrinkages 7.8 and 8.8 %
@pytest.mark.parametrize(("basic", "shrinkage", "expected"), [(0.45, 0.078, 529), (0.42, 0.088, 497)])
def test_imported_woods_are_weighed_from_their_green_volume(basic, shrinkage, expected):
    assert density_from_basic_gravity(basic, shrinkage, 12.0) == pytest.approx(expected, abs=0.5)


@given(st.floats(0, 28))
def test_wetter_wood_is_always_heavier(moisture):
    assert density(birch(), moisture + 1) > density(birch(), moisture)


# Wood Handbook equation 13-2 with Table 13-5; 6 in wide boards from 12 to 8 %
@pytest.mark.parametrize(
    ("radial", "tangential", "quarter", "flat"),
    [
        (0.00165, 0.00353, -0.0396, -0.0847),
        (0.00256, 0.00338, -0.0614, -0.0811),
        (0.00190, 0.00274, -0.0456, -0.0658),
    ],
)
def test_boards_move_as_the_handbook_says(radial, tangential, quarter, flat):
    wood = birch(movement_radial=published(radial, ""), movement_tangential=published(tangential, ""))
    assert 6 * movement(wood, Ring.RADIAL, 12, 8) == pytest.approx(quarter, abs=5e-5)
    assert 6 * movement(wood, Ring.TANGENTIAL, 12, 8) == pytest.approx(flat, abs=5e-5)


# Wood Handbook equation 13-1 (from memory): 6 in, total shrinkage 9.9 %, 12 to 8 % gives -0.0842 in
def test_without_a_coefficient_movement_follows_total_shrinkage():
    maple = birch(movement_tangential=None, shrinkage_tangential=published(0.099, ""))
    assert 6 * movement(maple, Ring.TANGENTIAL, 12, 8) == pytest.approx(-0.0842, abs=5e-5)


def test_a_wood_without_published_movement_gives_none():
    assert movement(mahogany(shrinkage_radial=None), Ring.RADIAL, 12, 8) is None


# a 4 in boss in flat-sawn sugar maple, 12 to 8 %, is 0.056 in thinner: 4 x 0.00353 x 4
def test_a_boss_shrinks_in_a_dry_climate():
    maple = birch(movement_tangential=published(0.00353, "Wood Handbook, Table 13-5"))
    settled, dry, damp = seasons(maple, 4.0, 4.375, 12.0, 21.1, 0.423)
    assert settled.moisture == pytest.approx(8.0, abs=0.05)
    assert settled.thickness_change == pytest.approx(-0.056, abs=0.001)
    assert dry.thickness_change < settled.thickness_change < damp.thickness_change
