"""Drawing, performance and their cautions on the customer's and the workshop's pages, and who may have which file."""

import re

import pytest
from django.core.files.base import ContentFile

from orders.models import Document, OutboxJob
from orders.services import drawings
from tests.orders.shop import Shop


def file(quote, kind: str, variant: str = "", content: bytes = b"%PDF-1.7") -> Document:
    """A file as the worker would have made it."""
    row = Document(kind=kind, subject=drawings.subject(quote, variant), quote=quote, sha256="0" * 64)
    row.made_at = quote.issued_at
    row.file.save(row.file_name, ContentFile(content), save=False)
    row.save()
    return row


def read(client, path: str) -> str:
    response = client.get(path)
    assert response.status_code == 200
    return response.content.decode()


def read_pending(client, path: str) -> str:
    response = client.get(path)
    assert response.status_code == 202
    return response.content.decode()


def test_every_page_with_the_figures_carries_the_caution(shop: Shop, anyone, owner):
    sent = shop.sent_quote()
    review = f"/desk/enquiries/{sent.series.enquiry.number}/"
    pages = [read(anyone, f"/quote/{sent.token}/"), read(owner, review)]
    order = shop.accept(sent)
    pages += [
        read(anyone, f"/order/{order.token}/"),
        read(anyone, f"/order/{order.token}/drawing/1/"),
        read(owner, f"/desk/orders/{order.number}/"),
    ]
    for page in pages:
        assert "not an approval" in page
        assert "drawing-sheet" in page and "Table of stations" in page
    for page in (*pages[:3], pages[4]):
        for picture in ("drawing-power", "drawing-thrust", "drawing-sizes", "drawing-stress"):
            assert picture in page


def test_no_two_pictures_of_a_page_share_an_id(shop: Shop, anyone, owner):
    order = shop.order()
    pages = (f"/order/{order.token}/", f"/quote/{order.quote.token}/", f"/order/{order.token}/drawing/1/")
    for page in [*(read(anyone, path) for path in pages), read(owner, f"/desk/orders/{order.number}/")]:
        ids = re.findall(r'\bid="([^"]+-(?:title|desc))"', page)
        assert len(ids) > 6
        assert sorted(ids) == sorted(set(ids))


def test_the_reader_s_units_decide_table_and_sheet(shop: Shop, anyone):
    order = shop.order()
    anyone.cookies["units"] = "mm"
    page = read(anyone, f"/order/{order.token}/")
    assert "In millimetres and degrees" in page
    assert re.search(r"<th scope=\"row\" class=\"nowrap\">\d+ mm", page)


def test_the_drawing_of_a_quote_is_promised_until_it_is_there(shop: Shop, anyone):
    sent = shop.sent_quote()
    assert "Make it" in read_pending(anyone, f"/quote/{sent.token}/drawing/")
    for _ in range(2):
        anyone.post(f"/quote/{sent.token}/drawing/ask/")
        assert "Look again" in read_pending(anyone, f"/quote/{sent.token}/drawing/")
    assert OutboxJob.objects.filter(kind=drawings.JOB, state="waiting").count() == 1
    file(sent, "drawing", "in")
    response = anyone.get(f"/quote/{sent.token}/drawing/")
    assert response.status_code == 200 and response["Content-Type"] == "application/pdf"


def test_a_customer_has_drawing_and_mock_up_but_nothing_to_drill_from(shop: Shop, anyone):
    order = shop.order()
    drawing, picture = file(order.quote, "drawing", "mm"), file(order.quote, "mock-up", content=b"\x89PNG")
    hidden = [
        file(order.quote, kind) for kind in ("drill-template", "drill-dxf", "station-template", "solid")
    ]
    page = read(anyone, f"/order/{order.token}/")
    assert "Drawing, millimetres" in page
    for row, kind in ((drawing, "application/pdf"), (picture, "image/png")):
        assert anyone.get(f"/order/{order.token}/paper/{row.pk}/")["Content-Type"] == kind
    for row in hidden:
        assert f"/paper/{row.pk}/" not in page
        assert anyone.get(f"/order/{order.token}/paper/{row.pk}/").status_code == 404


def test_the_mock_up_page_says_that_the_solid_is_being_made_and_then_shows_it(shop: Shop, anyone):
    order = shop.order()
    path = f"/order/{order.token}/mock-up/1/"
    assert "is being made, asked for" in read(anyone, path)
    row = file(order.quote, "mock-up", content=b"\x89PNG")
    page = read(anyone, path)
    assert f"/order/{order.token}/paper/{row.pk}/" in page
    assert "is being made" not in page


def test_the_desk_says_when_files_were_asked_for_when_made_and_when_it_failed(shop: Shop, owner):
    order = shop.order()
    path = f"/desk/orders/{order.number}/"
    assert "Being made" in read(owner, path)
    OutboxJob.objects.filter(kind=drawings.JOB).update(state="dead", last_error="no disk")
    page = read(owner, path)
    assert "no disk" in page and "Make the files" in page
    assert owner.post(f"{path}draw/").status_code == 302
    assert OutboxJob.objects.filter(kind=drawings.JOB, state="waiting").count() == 1
    OutboxJob.objects.filter(kind=drawings.JOB).update(state="done")
    solid = file(order.quote, "solid", content=b"glTF")
    page = read(owner, path)
    assert "As of" in page and "Make the files" not in page
    response = owner.get(f"{path}papers/{solid.pk}/")
    assert response["Content-Type"] == "model/gltf-binary"
    assert ".glb" in response["Content-Disposition"]


@pytest.mark.parametrize("typed", [{"hub": "as-measured", "engine": "", "engine_name": "Own", "power": "65"}])
def test_an_incomplete_pattern_says_on_the_pages_why_nothing_is_drilled_from_it(shop: Shop, owner, typed):
    order = shop.order(**typed, engine_rpm="2300")
    for page in (read(owner, f"/desk/orders/{order.number}/"), read(owner, f"/order/{order.token}/")):
        assert "No drill template: the pattern has no" in page
