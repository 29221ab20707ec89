"""Pictures at both doors: weighed, decoded, turned and stripped the same way; files of what was not stored are gone."""

import io

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.forms import ValidationError
from PIL import Image

from orders import picture_field
from orders.models import StageRecord
from orders.picture_field import PhotographField, PictureField
from orders.refusal import Refused
from orders.services import bench
from orders.services.artwork import picture_kept
from orders.services.filing import keep
from tests.orders.shop import Shop, sound

FIELDS = (PictureField(required=False), PhotographField(required=False))
TURN = 0x0112
PLACE = 0x8825


def sent(picture: Image.Image, kind: str = "JPEG", **more: object) -> SimpleUploadedFile:
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return SimpleUploadedFile("blade.jpg", out.getvalue(), content_type="image/jpeg")


def refusal(field: PictureField, upload: SimpleUploadedFile) -> str:
    with pytest.raises(ValidationError) as refused:
        field.clean(upload)
    return refused.value.code


def half_and_half() -> Image.Image:
    """40 wide and 20 high, the left half dark."""
    picture = Image.new("RGB", (40, 20), "white")
    picture.paste("black", (0, 0, 20, 20))
    return picture


@pytest.mark.parametrize(("field", "kind"), list(zip(FIELDS, ("PNG", "JPEG"), strict=True)))
def test_a_picture_is_turned_upright_and_loses_its_place(field, kind):
    exif = Image.Exif()
    exif[TURN] = 6  # taken with the camera upright: to be turned clockwise
    exif.get_ifd(PLACE)[2] = (53.0, 30.0, 0.0)
    with Image.open(io.BytesIO(field.clean(sent(half_and_half(), exif=exif, quality=95)))) as kept:
        assert (kept.format, kept.size, dict(kept.getexif())) == (kind, (20, 40), {})
        grey = kept.convert("L")
        assert grey.getpixel((10, 5)) < 60 and grey.getpixel((10, 35)) > 200


@pytest.mark.parametrize("field", FIELDS)
def test_the_decoder_says_what_it_is_whatever_the_name_says(field):
    assert refusal(field, sent(half_and_half(), "GIF")) == "no-picture"
    assert refusal(field, sent(half_and_half(), "BMP")) == "no-picture"
    assert field.clean(sent(half_and_half(), "WEBP"))


@pytest.mark.parametrize("field", FIELDS)
def test_what_is_too_heavy_or_too_large_is_refused_before_it_is_decoded(field, monkeypatch):
    monkeypatch.setattr(Image.Image, "load", lambda *_: pytest.fail("it was decoded"))
    heavy = SimpleUploadedFile("blade.jpg", b"\xff" * (picture_field.LARGEST_FILE + 1))
    assert refusal(field, heavy) == "too-large"
    monkeypatch.undo()
    flat = sent(Image.new("1", (6000, 4001)), "PNG")
    monkeypatch.setattr(Image.Image, "load", lambda *_: pytest.fail("it was decoded"))
    assert refusal(field, flat) == "too-many-pixels"


@pytest.mark.parametrize(("field", "longest"), list(zip(FIELDS, (2000, 1600), strict=True)))
def test_a_large_one_is_made_smaller(field, longest):
    with Image.open(io.BytesIO(field.clean(sent(Image.new("L", (3000, 1000)), "PNG")))) as kept:
        assert kept.size == (longest, round(longest / 3))


def test_what_shows_through_in_a_photograph_becomes_white():
    with Image.open(io.BytesIO(FIELDS[1].clean(sent(Image.new("RGBA", (8, 8)), "PNG")))) as kept:
        assert min(kept.getpixel((4, 4))) > 250


def files(folder: str) -> list[str]:
    return default_storage.listdir(folder)[1] if default_storage.exists(folder) else []


def test_the_photograph_of_a_refused_record_is_not_kept(shop: Shop):
    stage = shop.queued().propellers.get().stages.get(key="condition")
    photo, before = FIELDS[1].clean(sent(half_and_half())), files("bench")

    def record(**values: object) -> None:
        bench.record_stage(
            shop.at_bench, stage, shop.wes, minutes=30, photo=photo, now=shop.now,
            measurements={**sound(stage.propeller, "condition"), **values},
        )  # fmt: skip

    with pytest.raises(Refused):
        record(moisture="wet")
    assert files("bench") == before
    record()
    assert StageRecord.objects.get().photo.name.removeprefix("bench/") in set(files("bench")) - set(before)


def test_a_picture_whose_enquiry_is_not_stored_is_taken_away():
    before = files("decals")
    with pytest.raises(RuntimeError), picture_kept(b"\x89PNG") as name:
        assert default_storage.exists(name)
        raise RuntimeError
    assert files("decals") == before


def test_a_paper_filed_twice_leaves_one_file(shop: Shop):
    before = set(files("papers"))
    first, second = (keep("quote", "Q-2026-0001", b"%PDF-1.7 a") for _ in range(2))
    assert first == second and len(set(files("papers")) - before) == 1
