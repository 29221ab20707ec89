"""What the bench teaches, at the desk: bias with its picture, proposals drafted by the owner and never by themselves."""

from decimal import Decimal

import pytest

from orders.desk import learning
from orders.services.lessons import recorded_against
from quoting.models import PriceBookVersion
from quoting.pricing.learning import Record, lessons
from quoting.services.pricebook import book_of, current_book, current_version
from tests.orders.shop import Shop


@pytest.fixture
def recorded(monkeypatch):
    """Twenty builds at which sanding took half as long again as estimated."""
    records = [Record("sand", "yellow-birch", 1.8, 200, 300 + n) for n in range(20)]
    monkeypatch.setattr(learning, "lessons_for", lambda book: lessons(records, book))


def test_recorded_minutes_show_bias_by_stage_timber_and_size_with_a_picture_and_a_table(owner, shop: Shop):
    shop.build(shop.queued(), until="track")
    page = owner.get("/desk/learning/")
    words = page.content.decode()
    for shown in ("By stage", "By timber", "By size", "drawing-bias-stage", "yellow-birch"):
        assert shown in words
    stages = [b.group for _, _, rows in page.context["groups"] for b in rows if b.by == "stage"]
    assert stages[:3] == ["condition", "laminate", "rest"]
    assert len(list(recorded_against(current_book(shop.today)))) == page.context["records"]


def test_nothing_recorded_says_so(owner, shop: Shop):
    assert "No stage has been recorded yet" in owner.get("/desk/learning/").content.decode()


def test_ticked_proposals_go_into_a_draft_and_nothing_into_the_book_in_force(owner, shop: Shop, recorded):
    before = book_of(current_version(shop.today)).entries
    page = owner.get("/desk/learning/")
    assert {p.key for p in page.context["proposals"]} == {"sand.setup", "sand.belt", "sand.orbital"}
    assert not PriceBookVersion.objects.filter(state="draft").exists()
    answer = owner.post("/desk/learning/draft/", {"keys": ["sand.belt", "sand.orbital"], "into": "new"})
    made = PriceBookVersion.objects.get(state="draft")
    assert answer.headers["Location"] == f"/desk/price-book/{made.pk}/"
    book = book_of(made)
    assert book["sand.belt"] > before["sand.belt"].value and book["sand.setup"] == before["sand.setup"].value
    assert book_of(current_version(shop.today)).entries == before


def test_proposals_go_into_a_draft_that_is_there(owner, shop: Shop, recorded):
    owner.post("/desk/price-book/draft/")
    draft = PriceBookVersion.objects.get(state="draft")
    owner.post("/desk/learning/draft/", {"keys": ["sand.setup"], "into": str(draft.pk)})
    assert PriceBookVersion.objects.filter(state="draft").count() == 1
    assert book_of(draft)["sand.setup"] > Decimal(10)


@pytest.mark.parametrize(
    "form",
    [
        {"keys": [], "into": "new"},
        {"keys": ["sand.belt"], "into": "999"},
        {"keys": ["timber.price.other"], "into": "new"},
    ],
)
def test_what_was_not_proposed_or_ticked_is_refused(owner, shop: Shop, recorded, form):
    assert owner.post("/desk/learning/draft/", form).status_code == 422
    assert not PriceBookVersion.objects.filter(state="draft").exists()
