"""What the worker draws of a quote: every file once, measured in the file itself; nothing to drill from a doubtful hub."""

import io

import ezdxf
import numpy as np
import pikepdf
import pytest
import trimesh
from PIL import Image

from orders import worker
from orders.models import Document, OutboxJob
from orders.services import drawings, drawn_files
from orders.services.outbox import Hopeless
from quoting.models import Quote
from quoting.propeller.hub import boss
from quoting.services.engineering import assessed
from quoting.services.quotes import specification_of
from tests.orders.shop import Shop
from tests.quoting.documents.strokes import page_sizes, strokes

K = Document.Kind


@pytest.fixture
def quote(shop: Shop) -> Quote:
    return shop.order().quote


def content(quote: Quote, kind: str, variant: str = "") -> bytes:
    return Document.objects.get(kind=kind, subject=drawings.subject(quote, variant)).file.read()


def test_an_order_has_its_files_drawn_by_the_worker_and_each_only_once(quote):
    job = OutboxJob.objects.get(kind=drawings.JOB)
    assert drawings.standing(quote).being_made
    assert worker.run_one(job.pk)
    standing = drawings.standing(quote)
    wanted = {
        (kind, drawings.subject(quote, v)) for kind, all_of in drawings.VARIANTS.items() for v in all_of
    }
    assert {(file.kind, file.subject) for file in standing.files} == wanted
    assert standing.complete and not standing.being_made and standing.as_of
    before = set(Document.objects.values_list("pk", "sha256"))
    drawn_files.make({"quote": quote.pk})
    assert set(Document.objects.values_list("pk", "sha256")) == before


@pytest.mark.parametrize(("variant", "paper"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_the_filed_template_is_true_to_size_and_to_the_pattern(quote, variant, paper):
    drawn_files.draw(quote, K.DRILL_TEMPLATE)
    pdf = content(quote, K.DRILL_TEMPLATE, variant)
    assert page_sizes(pdf)[0] == pytest.approx(paper, abs=0.05)
    found = strokes(pdf)
    level = [s.size[0] for s in found if not s.curved and len(s.points) == 2 and s.size[1] < 0.01]
    assert min(length for length in level if 95 < length < 105) == pytest.approx(100.0, abs=0.02)
    shape = boss(specification_of(quote))
    shaft = next(
        s.centre for s in found if s.curved and np.allclose(s.size, shape.diameter * 1000, atol=0.03)
    )
    holes = [
        s.centre - shaft for s in found if s.curved and np.allclose(s.size, shape.hole * 1000, atol=0.03)
    ]
    pattern = shape.holes * [1000, -1000]
    gaps = np.linalg.norm(np.array(holes)[:, None] - pattern[None], axis=2).min(0)
    assert len(holes) == len(pattern) and gaps.max() < 0.05


def test_the_machine_files_hold_the_same_pattern_and_the_same_stations(quote):
    drawn_files.draw(quote, K.DRILL_DXF, K.STATION_DXF)
    shape, blade = boss(specification_of(quote)), assessed(specification_of(quote)).blade
    drill = ezdxf.read(io.StringIO(content(quote, K.DRILL_DXF).decode()))
    holes = [tuple(c.dxf.center)[:2] for c in drill.modelspace().query('CIRCLE[layer=="holes"]')]
    assert np.allclose(sorted(holes), sorted(map(tuple, shape.holes * 1000)), atol=1e-6)
    cut = ezdxf.read(io.StringIO(content(quote, K.STATION_DXF, "mm").decode()))
    space = cut.modelspace()
    radii = [float(t.dxf.text.split()[1]) / 1000 for t in space.query('TEXT[layer=="notes"]')]
    widths = [np.ptp([p[0] for p in o.get_points()]) for o in space.query('LWPOLYLINE[layer=="sections"]')]
    assert widths == pytest.approx([float(blade.chord_m(r / blade.radius)) * 1000 for r in radii], rel=1e-4)


def test_the_solid_comes_back_with_one_coloured_mesh_per_lamination(quote):
    drawn_files.draw(quote, K.SOLID)
    scene = trimesh.load(io.BytesIO(content(quote, K.SOLID)), file_type="glb")
    made = assessed(specification_of(quote))
    assert len(scene.geometry) == made.lamination.layers
    shades = {tuple(mesh.visual.material.baseColorFactor[:3]) for mesh in scene.geometry.values()}
    assert len(shades) == 2
    assert max(scene.extents) == pytest.approx(made.blade.diameter, rel=0.005)


def test_the_picture_of_the_solid_shows_both_shades_of_its_laminations(quote):
    drawn_files.draw(quote, K.MOCK_UP)
    picture = Image.open(io.BytesIO(content(quote, K.MOCK_UP))).convert("RGBA")
    shown = np.array(picture)
    wood = shown[shown[..., 3] > 250][:, :3].astype(float)
    assert 0.15 < len(wood) / (picture.width * picture.height) < 0.6
    # lightest and darker boards in full light lie a fifth apart
    bright = np.percentile(wood.sum(1), [50, 98])
    assert bright[0] < 0.9 * bright[1]


def test_the_drawing_is_two_a3_sheets_with_numbers_of_the_quote(quote):
    drawn_files.draw(quote, K.DRAWING)
    pdf = content(quote, K.DRAWING, "mm")
    assert page_sizes(pdf) == [pytest.approx((420.0, 297.0), abs=0.05)] * 2
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert quote.series.number in str(document.docinfo["/Title"])


def test_from_a_hub_not_measured_nothing_is_made_to_drill_from(shop):
    quote = shop.sent_quote(engine="", engine_name="Own", power="65", engine_rpm="2300", hub="as-measured")
    drawn_files.make({"quote": quote.pk})
    kinds = set(Document.objects.values_list("kind", flat=True))
    assert not kinds & {K.DRILL_TEMPLATE, K.DRILL_DXF}
    assert {K.DRAWING, K.STATION_TEMPLATE, K.SOLID} <= kinds


def test_a_quote_that_is_gone_is_set_aside_at_once(shop):
    with pytest.raises(Hopeless, match="not there"):
        drawn_files.make({"quote": 0})
