"""At the bench: build order, measurements, redoing, release; nothing leaves that is not right."""

from datetime import timedelta

import pytest

from orders.models import Stage, StageRecord
from orders.refusal import Refused
from orders.services import bench, dispatch, invoice, redoing, release
from orders.services.measurements import plain_number
from tests.orders.shop import sound


def stage(order, key: str) -> Stage:
    return order.propellers.get().stages.get(key=key)


def refusal(act) -> str:
    with pytest.raises(Refused) as refused:
        act()
    return refused.value.code


def test_an_order_joins_the_queue_only_with_deposit_and_drawing_and_gets_its_serial_then(shop):
    order = shop.order()
    shop.approve(order, "drawing")
    assert (order.propellers.get().serial, order.state) == (None, "waiting")
    shop.pay(order)
    order.refresh_from_db()
    assert (order.propellers.get().serial, order.state) == ("260001", "queued")


@pytest.mark.parametrize(
    ("before", "after"),
    [("bore", "balance"), ("balance", "drill"), ("stamp", "varnish"), ("decal", "final-balance")],
)
def test_stages_keep_to_the_build_order(shop, before, after):
    order = shop.queued()
    shop.approve(order, "mock-up")
    shop.build(order, until=before)
    assert refusal(lambda: shop.do(stage(order, after))) == "stage-order"


def test_no_varnish_before_the_mock_up_is_approved_but_everything_before_it(shop):
    order = shop.queued()
    shop.build(order, until="varnish")
    assert refusal(lambda: shop.do(stage(order, "varnish"))) == "mock-up"
    shop.approve(order, "mock-up")
    assert shop.do(stage(order, "varnish")).is_done


def test_glue_is_given_its_time(shop):
    order = shop.queued()
    shop.build(order, until="rest")
    laminate = stage(order, "laminate")
    assert laminate.wait_minutes > 0
    shop.now = laminate.finished_at - timedelta(days=12) + timedelta(minutes=1)
    assert refusal(lambda: shop.do(stage(order, "rest"))) == "waiting"


def test_the_first_stage_puts_order_and_propeller_in_work(shop):
    order = shop.queued()
    bench.start_stage(shop.at_bench, stage(order, "condition"), shop.wes, now=shop.now)
    order.refresh_from_db()
    assert (order.state, order.propellers.get().state) == ("on the bench", "in work")


@pytest.mark.parametrize("typed", ["", "NaN", "1e2", "-5", "٨", "8,5,1", "1" * 40, "inf", None, True])
def test_an_unreadable_measurement_is_refused_at_its_field_and_nothing_is_stored(shop, typed):
    order = shop.queued()
    with pytest.raises(Refused) as refused:
        shop.do(stage(order, "condition"), moisture=typed)
    assert (refused.value.field, refused.value.status) == ("moisture", 400)
    assert StageRecord.objects.count() == 0


def test_a_comma_is_a_decimal_point():
    assert (plain_number("8,5"), plain_number("+8.5"), plain_number("8")) == (8.5, 8.5, 8.0)


def test_a_measurement_outside_its_limits_is_kept_and_leaves_the_stage_open(shop):
    order = shop.queued()
    recorded = shop.do(stage(order, "condition"), moisture=22)
    assert [f.code for f in recorded.findings] == ["out-of-limits"]
    assert (stage(order, "condition").state, recorded.record.measurements["moisture"]) == ("started", 22.0)
    assert recorded.findings[0].message == "Moisture measured 22 %, 7 % over the most allowed (15 %)."
    with pytest.raises(Refused) as refused:
        shop.do(stage(order, "condition"))
    assert (refused.value.code, refused.value.field) == ("mended-missing", "note")
    assert shop.do(stage(order, "condition"), note="Dried a week longer").is_done
    assert stage(order, "condition").records.count() == 2
    shown = release.failed_records(order.propellers.get())
    assert [(record.measurements["moisture"], found[0].field) for record, found in shown] == [
        (22.0, "moisture")
    ]


def test_the_stamp_must_read_the_serial_number(shop):
    order = shop.queued()
    shop.build(order, until="stamp")
    assert not shop.do(stage(order, "stamp"), stamped="260002").is_done
    assert shop.do(stage(order, "stamp"), note="Stamped anew").is_done


def test_a_display_piece_must_be_stamped_not_for_flight(shop):
    order = shop.queued(use="display")
    assert sound(order.propellers.get(), "stamp")["warning"] == "NOT FOR FLIGHT"
    shop.build(order, until="stamp")
    assert not shop.do(stage(order, "stamp"), warning="FLY").is_done


def test_a_blank_boss_takes_no_minutes_at_the_drill_and_no_measure_of_holes(shop):
    order = shop.queued(use="display", hub="blank-boss")
    shop.build(order, until="drill")
    drill = stage(order, "drill")
    assert (drill.minutes, sound(order.propellers.get(), "drill")) == (0, {})
    assert shop.do(drill).is_done
    assert stage(shop.queued(), "drill").minutes > 0


def test_cutting_wood_again_spoils_balance_finish_and_inspection(shop):
    order = shop.ready()
    redoing.do_again(shop.at_bench, stage(order, "sand"), reason="Scratch at station 20", now=shop.now)
    order.refresh_from_db()
    again = set(order.propellers.get().stages.filter(state="to do").values_list("key", flat=True))
    assert again == {
        "sand", "track", "balance", "varnish", "decal", "final-balance", "inspect", "crate",
    }  # fmt: skip
    assert (order.state, order.propellers.get().state) == ("on the bench", "in work")


def test_inspection_finds_a_stage_left_undone(shop):
    order = shop.queued()
    shop.approve(order, "mock-up")
    propeller = shop.build(order, until="final-balance")
    found = shop.release(propeller)
    assert ("stage-not-done", "final-balance") in {(f.code, f.field) for f in found}
    propeller.refresh_from_db()
    assert propeller.state == "in work"


def test_a_released_propeller_makes_the_order_ready_and_its_cost_work_in_progress(shop):
    order = shop.ready()
    assert (order.state, order.propellers.get().released_by) == ("ready", "Bench")
    assert release.postings.balance(release.postings.chart.WORK_IN_PROGRESS) > 0


def test_nothing_is_dispatched_unreleased_uncrated_uninvoiced_or_unpaid(shop):
    order = shop.ready()
    send = lambda **more: dispatch.dispatch_order(  # noqa: E731
        shop.owner, order, carrier="Road", today=shop.today, now=shop.now, **more
    )
    assert dispatch.hindrances(order) == (
        "not every propeller is crated", "the invoice is not issued", "the balance is not paid",
    )  # fmt: skip
    shop.do(stage(order, "crate"))
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    assert refusal(send) == "not-ready"
    assert send(on_account="Known for twenty years").state == "dispatched"


def test_an_invoice_is_issued_once(either):
    order = either.ready()
    invoice.issue_invoice(either.owner, order, today=either.today, now=either.now)
    assert (
        refusal(lambda: invoice.issue_invoice(either.owner, order, today=either.today, now=either.now))
        == "invoiced"
    )


def test_only_bench_and_owner_record_work(shop):
    order = shop.queued()
    act = lambda: bench.start_stage(shop.bookkeeper, stage(order, "condition"), shop.wes, now=shop.now)  # noqa: E731
    assert refusal(act) == "not-allowed"
