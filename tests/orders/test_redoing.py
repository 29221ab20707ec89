"""A build that went another way: stages opened again, put back, left out, taken in; propellers retired; jobs tried again."""

import pytest
from django.db import IntegrityError, transaction

from orders.models import AuditRecord, OutboxJob, Propeller, Stage, StageRecord
from orders.refusal import Refused
from orders.services import bench, failed_jobs, outbox, redoing, register, takeover
from orders.services.takeover import PaperRecord
from tests.orders.shop import Shop, sound


def stage(order, key: str) -> Stage:
    return order.propellers.get().stages.get(key=key)


def refusal(act) -> str:
    with pytest.raises(Refused) as refused:
        act()
    return refused.value.code


def again(shop: Shop, row: Stage, who=None) -> Stage:
    return redoing.do_again(who or shop.at_bench, row, reason="Typed 12 for 21", now=shop.now)


def leave_out(shop: Shop, row: Stage, who=None) -> Stage:
    return redoing.leave_out(who or shop.owner, row, reason="No decal wished", now=shop.now)


def test_records_of_the_earlier_try_stay_and_the_later_one_counts(shop):
    order = shop.queued()
    shop.build(order, until="rough-carve")
    first = stage(order, "bore").records.get()
    assert again(shop, stage(order, "bore")).state == "to do"
    later = shop.do(stage(order, "bore"), bore=sound(order.propellers.get(), "bore")["bore"] + 0.1)
    assert list(stage(order, "bore").records.all()) == [first, later.record]
    assert (first.redo, later.record.redo, stage(order, "bore").state) == (False, True, "done")


def test_a_stage_begun_by_mistake_is_put_back(shop):
    order = shop.queued()
    bench.start_stage(shop.at_bench, stage(order, "condition"), shop.wes, now=shop.now)
    again(shop, stage(order, "condition"))
    row = stage(order, "condition")
    assert (row.state, row.started_by, row.started_at) == ("to do", None, None)
    assert shop.do(row).is_done


def test_a_stage_that_failed_sends_back_to_the_one_before_it_and_is_then_measured_again(shop):
    order = shop.queued()
    shop.build(order, until="balance")
    assert not shop.do(stage(order, "balance"), unbalance=900_000).is_done
    again(shop, stage(order, "sand"))
    assert (stage(order, "balance").state, stage(order, "track").state) == ("started", "to do")
    assert refusal(lambda: shop.do(stage(order, "balance"))) == "stage-order"
    for key in ("sand", "track", "balance"):
        assert shop.do(stage(order, key)).is_done


def test_only_what_is_done_is_spoiled_and_crating_again_spoils_nothing(shop):
    order = shop.ready()
    shop.do(stage(order, "crate"))
    again(shop, stage(order, "crate"))
    order.refresh_from_db()
    assert (order.state, order.propellers.get().state) == ("ready", "released")
    assert not order.propellers.get().stages.filter(state="to do").exclude(key="crate").exists()


def test_a_released_propeller_done_again_is_inspected_and_released_once_more(either):
    order = either.ready()
    again(either, stage(order, "inspect"))
    order.refresh_from_db()
    assert (order.state, order.propellers.get().state, order.propellers.get().released_by) == (
        "on the bench", "in work", "",
    )  # fmt: skip
    assert not [f for f in either.release(order.propellers.get()) if f.severity == "stop"]
    order.refresh_from_db()
    assert order.state == "ready"


def test_nothing_is_opened_again_that_is_not_begun_or_gone(shop):
    waiting = shop.queued()
    assert refusal(lambda: again(shop, stage(waiting, "condition"))) == "wrong-state"
    gone = shop.build_dispatched()
    assert refusal(lambda: again(shop, stage(gone, "sand"))) == "wrong-state"
    assert not AuditRecord.objects.filter(verb__startswith="do again").exists()


def test_a_reason_is_asked_for_and_stands_in_the_audit_trail(shop):
    order = shop.queued()
    shop.build(order, until="laminate")
    with pytest.raises(Refused) as refused:
        redoing.do_again(shop.at_bench, stage(order, "condition"), reason=" ", now=shop.now)
    assert refused.value.field == "reason"
    again(shop, stage(order, "condition"))
    (note,) = redoing.decisions_on_stage(stage(order, "condition"))
    assert (note.verb, note.reason, note.name, note.before) == (
        "do again condition", "Typed 12 for 21", "Bench", "done",
    )  # fmt: skip


def test_the_owner_alone_leaves_out_and_takes_in_again(shop):
    order = shop.queued()
    assert refusal(lambda: leave_out(shop, stage(order, "decal"), shop.at_bench)) == "not-allowed"
    assert leave_out(shop, stage(order, "decal")).state == "left out"
    assert refusal(lambda: again(shop, stage(order, "decal"), shop.at_bench)) == "not-allowed"
    assert again(shop, stage(order, "decal"), shop.owner).state == "to do"


@pytest.mark.parametrize(
    "key", ["condition", "laminate", "rest", "bore", "track", "varnish", "seal-holes", "inspect"]
)
def test_what_guards_safety_is_never_left_out(shop, key):
    assert refusal(lambda: leave_out(shop, stage(shop.queued(), key))) == "needed"


def test_a_stage_that_is_begun_is_not_left_out(shop):
    order = shop.queued()
    shop.approve(order, "mock-up")
    shop.build(order, until="final-balance")
    assert refusal(lambda: leave_out(shop, stage(order, "decal"))) == "wrong-state"


def test_a_build_without_the_stage_left_out_is_released_and_taken_over(shop):
    order = shop.build_queued()
    shop.approve(order, "mock-up")
    leave_out(shop, stage(order, "decal"))
    shop.build(order, until="decal")
    assert shop.do(stage(order, "final-balance")).is_done
    assert not [f for f in shop.release(order.propellers.get()) if f.severity == "stop"]

    on_paper = shop.build_queued()
    shop.approve(on_paper, "mock-up")
    leave_out(shop, stage(on_paper, "decal"))
    propeller = on_paper.propellers.get()
    records = []
    for row in propeller.stages.exclude(key__in=["decal", "inspect", "crate"]):
        began = shop.later(days=12)
        records.append(
            PaperRecord(row.key, shop.wes, 30, sound(propeller, row.key), began, shop.later(minutes=30))
        )
    takeover.take_over_build(shop.owner, propeller, records, now=shop.now)
    assert (stage(on_paper, "decal").state, stage(on_paper, "varnish").state) == ("left out", "done")
    assert not StageRecord.objects.filter(stage__key="decal").exists()


def test_an_order_that_has_no_serial_yet_keeps_what_was_decided_on_it(shop):
    order = shop.order()
    leave_out(shop, stage(order, "decal"))
    shop.pay(order)
    shop.approve(order, "drawing")
    assert [note.verb for note in redoing.decisions_on_stage(stage(order, "decal"))] == ["leave out decal"]


def test_a_sent_propeller_is_retired_once_with_its_cause(either):
    propeller = either.dispatched().propellers.get()
    register.retire(either.owner, propeller, cause="damaged", note=" Struck a mole hill ", now=either.now)
    propeller.refresh_from_db()
    assert (propeller.state, propeller.retired_for, propeller.retired_note, propeller.retired_at) == (
        "retired", "damaged", "Struck a mole hill", either.now,
    )  # fmt: skip
    assert redoing.decisions_on(propeller).last().reason == "damaged: Struck a mole hill"
    assert (
        refusal(lambda: register.retire(either.owner, propeller, cause="returned", now=either.now))
        == "wrong-state"
    )
    propeller.refresh_from_db()
    assert propeller.retired_for == "damaged"


def test_only_the_owner_retires_only_what_was_sent_and_only_for_a_known_cause(shop):
    here, sent = shop.build_ready().propellers.get(), shop.build_dispatched().propellers.get()
    assert refusal(lambda: register.retire(shop.owner, here, cause="damaged", now=shop.now)) == "wrong-state"
    assert (
        refusal(lambda: register.retire(shop.at_bench, sent, cause="damaged", now=shop.now)) == "not-allowed"
    )
    assert refusal(lambda: register.retire(shop.owner, sent, cause="lost", now=shop.now)) == "cause"


def test_the_database_keeps_no_retired_propeller_without_a_cause(either):
    propeller = either.dispatched().propellers.get()
    with pytest.raises(IntegrityError), transaction.atomic():
        Propeller.objects.filter(pk=propeller.pk).update(state="retired")


def test_a_job_given_up_is_tried_again_once_and_mail_is_not_among_them(shop):
    job, letter = (
        OutboxJob.objects.create(kind=kind, state="dead", attempts=5, due_at=shop.now, created_at=shop.now)
        for kind in ("make-paper", "send-mail")
    )
    assert list(failed_jobs.failed()) == [job] and letter.state == "dead"
    for _press in range(2):
        failed_jobs.try_again(shop.owner, job, now=shop.now)
    job.refresh_from_db()
    assert (job.state, job.attempts) == ("waiting", 0)
    assert AuditRecord.objects.filter(verb="try again", subject=f"job {job.pk}").count() == 1
    assert job in outbox.claim("worker", now=shop.later(minutes=1))
    assert refusal(lambda: failed_jobs.try_again(shop.at_bench, job, now=shop.now)) == "not-allowed"
