"""An enquiry taken up again by its link and changed, while no quote is out."""

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.models import Enquiry
from orders.refusal import Refused
from orders.services.quote import prepare_quote
from tests.portal.pages import ASKED
from tests.portal.test_ask import png

PERSON = {"name": "Alice Wren", "country": "DE"}


@pytest.fixture
def enquiry(shop) -> Enquiry:
    return shop.enquiry()


def test_the_page_stands_filled_in_with_what_was_asked(anyone, enquiry):
    page = anyone.get(f"/enquiry/{enquiry.token}/change/").content.decode()
    assert "Change what you asked" in page
    assert f'value="{enquiry.address["email"]}"' in page
    assert f'value="{enquiry.typed["diameter"]}"' in page
    assert "Plan on" in page


def test_changes_take_the_enquirys_place_and_the_email_address_stays(anyone, enquiry):
    sent = {**ASKED, **PERSON, "diameter": "70", "email": "thief@example.org", "send": "1"}
    answer = anyone.post(f"/enquiry/{enquiry.token}/change/", sent)
    assert answer.status_code == 302, answer.content.decode()
    before, enquiry = enquiry.address["email"], Enquiry.objects.get()
    assert enquiry.typed["diameter"] == "70"
    assert enquiry.specification["diameter"] == pytest.approx(70 * 0.0254)
    assert enquiry.address["email"] == before


def test_a_wrong_change_is_told_at_its_field_and_nothing_is_stored(anyone, enquiry):
    answer = anyone.post(
        f"/enquiry/{enquiry.token}/change/", {**ASKED, **PERSON, "diameter": "1e9", "send": "1"}
    )
    assert answer.status_code == 422
    assert 'value="1e9"' in answer.content.decode()
    assert Enquiry.objects.get().typed == enquiry.typed


def test_a_new_picture_takes_the_old_ones_place_and_without_one_the_old_stays(anyone, enquiry):
    address = f"/enquiry/{enquiry.token}/change/"
    names = []
    for shown in (SimpleUploadedFile("a.png", png(), "image/png"), None):
        sent = {**ASKED, **PERSON, "send": "1", **({"decal_picture": shown} if shown else {})}
        assert anyone.post(address, sent).status_code == 302
        names.append(Enquiry.objects.get().typed["decal_picture"])
    assert names[0] == names[1]
    assert default_storage.exists(names[0])


def test_once_quoted_it_is_not_changed_any_more(anyone, shop):
    quoted = Enquiry.objects.get(series=shop.sent_quote().series)
    assert anyone.get(f"/enquiry/{quoted.token}/change/").status_code == 302
    anyone.post(f"/enquiry/{quoted.token}/change/", {**ASKED, **PERSON, "diameter": "70", "send": "1"})
    assert Enquiry.objects.get(pk=quoted.pk).typed == quoted.typed


def test_the_owner_does_not_quote_what_was_changed_behind_their_back(anyone, shop, enquiry):
    seen = enquiry.changed_at
    anyone.post(f"/enquiry/{enquiry.token}/change/", {**ASKED, **PERSON, "diameter": "70", "send": "1"})
    with pytest.raises(Refused, match="changed this enquiry while you looked"):
        prepare_quote(shop.owner, enquiry, today=shop.today, now=shop.now, seen=seen)
