"""The stage's card at the bench: begun, recorded, refused at the field, out of limits, done, photographed."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.html import strip_tags
from PIL import Image

from orders.models import Order, Stage, StageRecord
from orders.words import SPACE
from portal.templatetags.sheet import measured
from tests.orders.shop import Shop, sound
from tests.portal.pages import Fields


def first_stage(shop: Shop) -> Stage:
    return shop.queued().propellers.get().stages.get(key="condition")


def begin(client, shop: Shop, stage: Stage):
    return client.post(f"/desk/bench/{stage.pk}/start/", {"person": shop.wes.pk})


def record(client, shop: Shop, stage: Stage, **changes: object):
    form = {
        "person": shop.wes.pk,
        "minutes": "45",
        "note": "Straight grain",
        **sound(stage.propeller, stage.key),
    }
    return client.post(f"/desk/bench/{stage.pk}/record/", form | changes)


def test_todays_work_offers_the_stage_and_beginning_it_puts_the_order_on_the_bench(bench, shop: Shop):
    stage = first_stage(shop)
    assert f"/desk/bench/{stage.pk}/" in bench.get("/desk/bench/").content.decode()
    begin(bench, shop, stage)
    stage.refresh_from_db()
    assert (stage.state, stage.started_by.key) == (Stage.State.STARTED, "wes")
    assert stage.propeller.order.state == Order.State.ON_THE_BENCH


def test_a_stage_begun_by_nobody_says_what_is_missing(bench, shop: Shop):
    stage = first_stage(shop)
    said = bench.post(f"/desk/bench/{stage.pk}/start/", {"person": "999"}, follow=True).content.decode()
    stage.refresh_from_db()
    assert stage.state == Stage.State.TO_DO and "Choose who begins the stage." in said


def test_a_later_stage_cannot_be_begun_and_says_which_comes_first(bench, shop: Shop):
    stage = first_stage(shop).propeller.stages.get(key="bore")
    said = begin(bench, shop, stage)
    stage.refresh_from_db()
    assert said.status_code == 302 and stage.state == Stage.State.TO_DO
    assert "comes before" in bench.get(f"/desk/bench/{stage.pk}/").content.decode()


@pytest.mark.parametrize(
    ("field", "typed"),
    [("moisture", typed) for typed in ("", "NaN", "-5", "1e2", "\u0668", "\N{AIRPLANE}", "9" * 40)]
    + [("minutes", typed) for typed in ("", "-1", "1441", "4.5", "\u0664\u0665", "NaN", "9" * 30)],
)
def test_a_bad_entry_is_refused_at_its_field_with_everything_typed_kept(bench, shop: Shop, field, typed):
    stage = first_stage(shop)
    begin(bench, shop, stage)
    response = record(bench, shop, stage, **{field: typed})
    fields = Fields(response.content.decode())
    assert (response.status_code, fields.invalid) == (422, {field})
    assert (fields.values[field], fields.values["note"], fields.values["lot"]) == (
        typed,
        "Straight grain",
        "L-1",
    )
    assert not StageRecord.objects.exists()


def test_a_figure_out_of_limits_is_recorded_as_a_finding_and_the_stage_stays_open(bench, shop: Shop):
    stage = first_stage(shop)
    begin(bench, shop, stage)
    page = record(bench, shop, stage, moisture="22").content.decode()
    stage.refresh_from_db()
    assert (stage.state, StageRecord.objects.get().measurements["moisture"]) == (Stage.State.STARTED, 22.0)
    assert "finding stop" in page and "measure again" in page
    assert (Fields(page).values["moisture"], Fields(page).values["minutes"]) == ("22", "")


def test_sound_figures_finish_the_stage(bench, shop: Shop):
    stage = first_stage(shop)
    begin(bench, shop, stage)
    assert record(bench, shop, stage).headers["Location"] == "/desk/bench/"
    stage.refresh_from_db()
    assert (stage.state, stage.records.get().minutes) == (Stage.State.DONE, 45)


def test_minutes_of_unfinished_work_need_no_measurements(bench, shop: Shop):
    stage = first_stage(shop)
    begin(bench, shop, stage)
    record(bench, shop, stage, unfinished="on", moisture="", lot="")
    stage.refresh_from_db()
    assert (stage.state, stage.records.get().finished) == (Stage.State.STARTED, False)


def test_a_photograph_is_kept_without_its_place_and_what_is_no_picture_is_refused(bench, shop: Shop):
    stage = first_stage(shop)
    begin(bench, shop, stage)
    fake = SimpleUploadedFile("blade.jpg", b"no picture", content_type="image/jpeg")
    assert Fields(record(bench, shop, stage, photo=fake).content.decode()).invalid == {"photo"}
    exif = Image.Exif()
    exif[0x010E] = "Behind the shed"
    out = io.BytesIO()
    Image.new("RGB", (40, 30)).save(out, "JPEG", exif=exif)
    record(
        bench, shop, stage, photo=SimpleUploadedFile("blade.jpg", out.getvalue(), content_type="image/jpeg")
    )
    with StageRecord.objects.get().photo.open("rb") as kept, Image.open(kept) as picture:
        assert picture.size == (40, 30) and not picture.getexif()


def test_a_good_inspection_releases_the_propeller(bench, shop: Shop):
    order = shop.queued()
    shop.approve(order, "mock-up")
    propeller = shop.build(order)
    stage = propeller.stages.get(key="inspect")
    propeller.stages.filter(state="done").update(finished_at=shop.now.replace(year=shop.now.year - 1))
    response = record(bench, shop, stage)
    propeller.refresh_from_db()
    assert (response.status_code, propeller.state) == (302, "released")


def test_todays_page_asks_no_more_of_the_database_for_more_orders(bench, shop):
    """Stages later in a build need no query of their own; only a first stage asks for its timber."""
    counts = []
    for _ in range(2):
        shop.build(shop.build_queued(), until="sand")
        with CaptureQueriesContext(connection) as asked:
            bench.get("/desk/bench/")
        counts.append(len(asked))
    assert counts[1] == counts[0]


def test_a_caution_is_said_when_recorded_and_on_the_page_of_the_done_stage(bench, shop: Shop):
    order = shop.build_queued()
    stage = shop.build(order, until="track").stages.get(key="track")
    stage.propeller.stages.filter(state="done").update(finished_at=shop.now.replace(year=shop.now.year - 1))
    begin(bench, shop, stage)
    record(bench, shop, stage, track="2", pitch_difference="2")
    stage.refresh_from_db()
    assert stage.state == Stage.State.DONE
    for page in ("/desk/bench/", f"/desk/bench/{stage.pk}/"):
        said = bench.get(page).content.decode()
        assert "measured 2 mm is above 1/16 in" in said and "1.5 ° over the most allowed (0.5 °)" in said


def test_the_inspection_shows_what_failed_before_and_the_next_record_needs_a_note(bench, shop: Shop):
    stage = first_stage(shop)
    begin(bench, shop, stage)
    page = record(bench, shop, stage, moisture="22").content.decode()
    assert "What was mended" in page
    assert Fields(record(bench, shop, stage, note=" ").content.decode()).invalid == {"note"}
    record(bench, shop, stage, note="Dried a week longer")
    inspection = stage.propeller.stages.get(key="inspect")
    said = bench.get(f"/desk/bench/{inspection.pk}/").content.decode()
    assert "Moisture measured 22 %, 7 % over the most allowed (15 %)." in said


def test_what_was_measured_stands_by_name_and_unit_on_the_card_and_in_the_build_record(bench, shop: Shop):
    stage = shop.build(shop.build_queued(), until="balance").stages.get(key="track")
    record = bench.get(f"/desk/register/{stage.propeller.serial}/").content.decode()
    card = bench.get(f"/desk/bench/{stage.pk}/").content.decode()
    said = f"Track difference 1.587{SPACE}mm; pitch angle difference 0.25\N{DEGREE SIGN}"
    assert said in record and said in card
    assert f"Timber lot L-1; moisture 10.5{SPACE}%" in record
    assert "pitch_difference" not in record + card


def test_a_measurement_that_is_asked_no_more_keeps_its_key():
    assert measured({"unbalance": 12.0, "twist": 4}) == f"Residual unbalance 12{SPACE}g·mm; twist 4"


def test_each_job_of_the_day_is_one_link_that_says_the_propeller_before_the_stage(bench, shop: Shop):
    stage = first_stage(shop)
    for _ in range(2):
        page = bench.get("/desk/bench/").content.decode()
        assert page.count(f'href="/desk/bench/{stage.pk}/"') == 1
        row = page.split(f'href="/desk/bench/{stage.pk}/"')[1].split("</a>")[0]
        said = " ".join(strip_tags("<a" + row).split())
        assert said.startswith(f"{stage.propeller.serial} {stage.propeller.order.title} Select and condition")
        assert "<svg" not in row and 'class="box"' not in page
        begin(bench, shop, stage)
    assert "Wes, since" in said
