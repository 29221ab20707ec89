"""Recorded minutes of the bench are read against the price book, once for each stage that is done."""

from decimal import Decimal

from orders.services import redoing
from orders.services.lessons import lessons_for, recorded_against
from quoting.services.pricebook import current_book
from tests.orders.shop import Shop


def test_each_done_stage_is_read_once_against_the_book(shop: Shop) -> None:
    shop.build(shop.queued(), until="shape-boss")
    book = current_book(shop.today)
    found = {r.stage: r for r in recorded_against(book)}
    assert list(found) == ["condition", "laminate", "rest", "bore", "rough-carve"]
    assert {r.recorded for r in found.values()} == {30}
    assert (found["rest"].estimated, found["rest"].timber, round(found["rest"].diameter, 4)) == (
        5,
        "yellow-birch",
        1.8288,
    )
    doubled = book.redrafted("2", {"rest.look": book["rest.look"] * 2})
    assert next(r.estimated for r in recorded_against(doubled) if r.stage == "rest") == 10


def test_work_done_again_is_no_part_of_an_estimate(shop: Shop) -> None:
    propeller = shop.build(shop.queued(), until="rough-carve")
    bore = propeller.stages.get(key="bore")
    redoing.do_again(shop.at_bench, bore, reason="the bit wandered", now=shop.now)
    bore.refresh_from_db()
    shop.do(bore)
    bored = [r.recorded for r in recorded_against(current_book(shop.today)) if r.stage == "bore"]
    assert bored == [30]


def test_too_few_records_propose_nothing_but_show_their_bias(shop: Shop) -> None:
    shop.build(shop.queued(), until="track")
    found = lessons_for(current_book(shop.today))
    assert found.proposals == ()
    assert {b.by for b in found.biases} == {"stage", "timber", "size"}


def test_nothing_recorded_teaches_nothing(shop: Shop) -> None:
    shop.queued()
    found = lessons_for(current_book(shop.today))
    assert (found.biases, found.left_out) == ((), Decimal(0))
