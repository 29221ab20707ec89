"""The solid: closed, as heavy as the sections say, cut where the hub says, its layers adding up to the whole."""

import io

import manifold3d
import numpy as np
import pytest
import trimesh

from quoting.propeller import solid as solids
from quoting.propeller.blade import Blade
from quoting.propeller.catalogue import Hand, Position, TipForm
from quoting.propeller.hub import boss
from quoting.propeller.lamination import lamination
from quoting.propeller.loft import loft
from quoting.propeller.mass import mass
from tests.quoting.samples import INCH, specification

BOSS = boss(specification(clocking=20.0))
BIRCH = 694.0


def surface(diameter: float = 72 * INCH, **changes: object):
    blade = Blade.wooden(diameter=diameter, pitch=0.6 * diameter, **changes)  # type: ignore[arg-type]
    return loft(blade, BOSS.diameter, BOSS.thickness)


def made(blades: int = 2, hand: Hand = Hand.RIGHT, position: Position = Position.TRACTOR) -> solids.Solid:
    return solids.solid(surface(), BOSS, blades, hand=hand, position=position)


def wood_at(body: solids.Solid, x: float, y: float, z: float) -> bool:
    """Whether a speck of a tenth of a millimetre at the point lies in the wood."""
    speck = manifold3d.Manifold.cube((1e-4, 1e-4, 1e-4), True).translate((float(x), float(y), float(z)))
    return (body.body ^ speck).volume() > 0.5e-12


@pytest.mark.parametrize("tip", list(TipForm))
@pytest.mark.parametrize("blades", [2, 3, 4])
@pytest.mark.parametrize("diameter", [50 * INCH, 72 * INCH, 96 * INCH])
def test_mesh_and_sections_agree_on_the_volume_within_half_a_percent(blades, tip, diameter):
    shape = surface(diameter, tip_form=tip)
    body = solids.solid(shape, BOSS, blades, hand=Hand.RIGHT)
    assert body.mesh.is_watertight
    assert body.mesh.is_winding_consistent
    assert body.volume == pytest.approx(mass(shape, BOSS, blades, BIRCH).wood_volume, rel=0.005)


def test_mesh_and_sections_agree_on_mass_and_inertia_and_the_centre_lies_on_the_shaft():
    found = solids.mass_properties(made(), BIRCH)
    expected = mass(surface(), BOSS, 2, BIRCH)
    assert found.mass == pytest.approx(expected.wood, rel=0.005)
    assert found.inertia == pytest.approx(expected.inertia, rel=0.005)
    assert found.centre[:2] == pytest.approx((0, 0), abs=1e-6)


def test_the_left_hand_is_the_mirror_image_of_the_right():
    right = solids.solid(surface(), BOSS, 3, hand=Hand.RIGHT)
    left = solids.solid(surface(), BOSS, 3, hand=Hand.LEFT)
    assert left.volume == pytest.approx(right.volume, rel=1e-9)
    assert left.mesh.mass_properties.inertia[0, 2] == pytest.approx(
        -right.mesh.mass_properties.inertia[0, 2], abs=1e-9
    )


def test_a_right_hand_blade_standing_up_has_its_leading_edge_to_the_right_seen_from_its_slipstream():
    up = made().mesh.vertices
    outboard = up[(up[:, 1] > 0.5) & (up[:, 1] < 0.6)]
    # looking the way it flies (+z) with y up, x points to the left; the leading edge stands further forward
    front = outboard[np.argmax(outboard[:, 2])]
    rear = outboard[np.argmin(outboard[:, 2])]
    assert front[0] < rear[0]


def test_the_holes_go_through_where_the_pattern_puts_them():
    body = made()
    assert not any(wood_at(body, x, y, z) for x, y in BOSS.holes for z in (-0.03, 0.0, 0.03))
    between = np.radians(20 + 30 + 60 * np.arange(6))
    radius = 0.5 * BOSS.circle
    assert all(wood_at(body, radius * np.sin(a), radius * np.cos(a), 0.0) for a in between)


def test_lug_counterbores_lie_on_the_flange_side_behind_on_a_tractor_and_ahead_on_a_pusher():
    cut = boss(specification())
    assert cut.lug and 0 < cut.lug_depth < cut.thickness
    x, y = cut.holes[0]
    beside = 0.25 * (cut.lug + cut.hole)
    z = 0.5 * cut.thickness - 0.5 * cut.lug_depth
    tractor = solids.solid(surface(), cut, 2, hand=Hand.RIGHT, position=Position.TRACTOR)
    pusher = solids.solid(surface(), cut, 2, hand=Hand.RIGHT, position=Position.PUSHER)
    assert [wood_at(tractor, x + beside, y, side) for side in (-z, z)] == [False, True]
    assert [wood_at(pusher, x + beside, y, side) for side in (-z, z)] == [True, False]


def test_the_layers_add_up_to_the_whole_and_each_is_no_thicker_than_its_board():
    blank = lamination(surface(), BOSS, 2, 72 * INCH, 0.019, stepped=True)
    body = made()
    parts = solids.layers(body, blank.planes)
    assert len(parts) == blank.layers
    assert sum(part.volume for part in parts) == pytest.approx(body.volume, rel=1e-9)
    assert all(np.ptp(part.mesh.vertices[:, 2]) <= 0.019 + 1e-9 for part in parts)


def test_the_mock_up_holds_one_named_coloured_layer_per_lamination_and_is_the_same_twice():
    blank = lamination(surface(), BOSS, 2, 72 * INCH, 0.019, stepped=True)
    parts = solids.layers(made(), blank.planes)
    written = solids.glb(parts, ["#c9975b", "#8a5a34"])
    assert written == solids.glb(parts, ["#c9975b", "#8a5a34"])
    scene = trimesh.load(io.BytesIO(written), file_type="glb")
    assert sorted(scene.geometry) == [f"layer-{k + 1}" for k in range(blank.layers)]
    colours = [tuple(scene.geometry[f"layer-{k}"].visual.material.baseColorFactor[:3]) for k in (1, 2, 3)]
    assert colours[0] == colours[2] == (0xC9, 0x97, 0x5B)
    assert colours[1] == (0x8A, 0x5A, 0x34)
    assert scene.extents == pytest.approx(made().mesh.extents, rel=1e-5)


@pytest.mark.parametrize("colour", ["birch", "#12345", "#12345z"])
def test_a_colour_that_is_none_is_refused(colour):
    with pytest.raises(ValueError, match="#rrggbb"):
        solids.glb([made()], [colour])


def test_the_machine_file_is_in_millimetres():
    mesh = trimesh.load(io.BytesIO(solids.stl(made())), file_type="stl")
    assert np.ptp(mesh.vertices[:, 1]) == pytest.approx(72 * 25.4, rel=0.001)
