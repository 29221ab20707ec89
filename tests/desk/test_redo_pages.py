"""The doors of a build that went another way: on the stage's card, in the register, on the morning sheet."""

from orders.models import OutboxJob, Propeller, Stage
from orders.services import bench as service
from orders.services import failed_jobs, mail
from orders.worker import JOBS
from tests.orders.shop import Shop
from tests.portal.pages import Fields


def done(shop: Shop, key: str = "bore") -> Stage:
    """A stage that is done, with the one after it."""
    order = shop.build_queued()
    shop.build(order, until="shape-boss")
    return order.propellers.get().stages.get(key=key)


def test_the_bench_opens_a_done_stage_again_and_reads_why(bench, shop: Shop):
    row = done(shop)
    address = f"/desk/bench/{row.pk}/"
    assert f"{address}again/" in bench.get(address).content.decode()
    said = bench.post(f"{address}again/", {"reason": "The bit <wandered>"}, follow=True).content.decode()
    row.refresh_from_db()
    assert row.state == "to do" and row.records.count() == 1
    assert "Bore the centre: to be done again, Bench" in said
    assert "The bit &lt;wandered&gt;" in said and f"{address}again/" not in said
    serial = row.propeller.serial
    assert "Bore the centre: to be done again" in bench.get(f"/desk/register/{serial}/").content.decode()


def test_a_missing_or_endless_reason_is_refused_at_its_field_with_what_was_typed(bench, shop: Shop):
    row = done(shop)
    for typed in ("", "x" * 501):
        answer = bench.post(f"/desk/bench/{row.pk}/again/", {"reason": typed})
        fields = Fields(answer.content.decode())
        assert (answer.status_code, fields.invalid, fields.values["reason"]) == (422, {"reason"}, typed)
    row.refresh_from_db()
    assert row.state == "done"


def test_the_card_says_what_must_be_done_again_with_it(bench, shop: Shop):
    order = shop.ready()
    page = bench.get(f"/desk/bench/{order.propellers.get().stages.get(key='sand').pk}/").content.decode()
    assert "check track and pitch, balance, varnish, apply decal, final balance, inspect." in page
    assert "no longer released then" in page


def test_a_stage_gone_meanwhile_is_refused_in_words(bench, shop: Shop):
    row = shop.dispatched().propellers.get().stages.get(key="sand")
    answer = bench.post(f"/desk/bench/{row.pk}/again/", {"reason": "A scratch"})
    assert answer.status_code == 422 and "its build is over" in answer.content.decode()
    assert f"/desk/bench/{row.pk}/again/" not in bench.get(f"/desk/bench/{row.pk}/").content.decode()


def test_the_owner_leaves_a_decal_out_and_takes_it_in_and_the_bench_is_not_offered_either(
    owner, bench, shop: Shop
):
    row = shop.queued().propellers.get().stages.get(key="decal")
    address = f"/desk/bench/{row.pk}/"
    assert "leave-out/" not in bench.get(address).content.decode()
    assert "leave-out/" in owner.get(address).content.decode()
    said = owner.post(f"{address}leave-out/", {"reason": "None wished"}, follow=True).content.decode()
    assert "Apply decal: left out, Owner" in said and f"{address}again/" in said
    assert f"{address}again/" not in bench.get(address).content.decode()
    assert bench.post(f"{address}again/", {"reason": "It is wished"}).status_code == 422
    owner.post(f"{address}again/", {"reason": "It is wished"})
    row.refresh_from_db()
    assert row.state == "to do"


def test_what_the_trade_forbids_to_leave_out_is_not_offered(owner, shop: Shop):
    row = shop.queued().propellers.get().stages.get(key="seal-holes")
    assert "leave-out/" not in owner.get(f"/desk/bench/{row.pk}/").content.decode()
    answer = owner.post(f"/desk/bench/{row.pk}/leave-out/", {"reason": "In a hurry"})
    assert answer.status_code == 422 and "cannot be left out" in answer.content.decode()


def test_a_photograph_is_shown_under_its_own_stage_only(bench, owner, shop: Shop):
    rows = shop.queued().propellers.get().stages
    row, other = rows.get(key="condition"), rows.get(key="bore")
    record = service.record_stage(
        shop.at_bench,
        row,
        shop.wes,
        minutes=5,
        measurements={},
        photo=b"\xff\xd8\xff",
        finished=False,
        now=shop.now,
    ).record
    address = f"/desk/bench/{row.pk}/photo/{record.pk}/"
    assert address in bench.get(f"/desk/bench/{row.pk}/").content.decode()
    shown = bench.get(address)
    assert (shown["Content-Type"], b"".join(shown.streaming_content)) == ("image/jpeg", b"\xff\xd8\xff")
    assert owner.get(f"/desk/bench/{other.pk}/photo/{record.pk}/").status_code == 404
    record.photo.storage.delete(record.photo.name)
    assert bench.get(address).status_code == 404


def test_the_owner_retires_a_sent_propeller_and_the_register_says_so(owner, bench, shop: Shop):
    serial = shop.dispatched().propellers.get().serial
    address = f"/desk/register/{serial}/"
    assert "retire/" not in bench.get(address).content.decode()
    refused = owner.post(f"{address}retire/", {"cause": "", "note": "Struck a post"})
    fields = Fields(refused.content.decode())
    assert (refused.status_code, fields.invalid, fields.values["note"]) == (422, {"cause"}, "Struck a post")
    page = owner.post(
        f"{address}retire/", {"cause": "damaged", "note": "Struck a post"}, follow=True
    ).content.decode()
    assert "damaged beyond repair" in page and "Struck a post" in page and "retire/" not in page
    assert "damaged beyond repair" in bench.get("/desk/register/").content.decode()
    assert Propeller.objects.get(serial=serial).state == "retired"
    assert owner.post(f"{address}retire/", {"cause": "returned"}).status_code == 422


def test_a_propeller_that_is_here_is_not_offered_to_be_retired(owner, shop: Shop):
    serial = shop.queued().propellers.get().serial
    assert "retire/" not in owner.get(f"/desk/register/{serial}/").content.decode()


def test_a_job_given_up_is_tried_again_from_the_morning_sheet(owner, shop: Shop):
    job = OutboxJob.objects.create(
        kind="make-paper",
        state="dead",
        attempts=5,
        due_at=shop.now,
        created_at=shop.now,
        last_error="disk full",
    )
    page = owner.get("/desk/").content.decode()
    assert "Printing a paper was given up: disk full" in page and "make-paper" not in page
    assert f"/desk/jobs/{job.pk}/again/" in page
    said = owner.post(f"/desk/jobs/{job.pk}/again/", follow=True).content.decode()
    job.refresh_from_db()
    assert job.state == "waiting" and "It is tried again" in said and f"/desk/jobs/{job.pk}/" not in said
    assert owner.post("/desk/jobs/999999/again/").status_code == 404


def test_every_job_that_can_be_given_up_has_a_name_in_words():
    assert set(failed_jobs.NAMES) == set(JOBS) - {mail.JOB}
