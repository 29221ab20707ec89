"""What comes in too often is not done, says so, and keeps all that was typed; all web processes count together."""

import pytest
from django.core.cache import caches
from django.test import Client

from orders.models import Enquiry, Mail, Message
from portal.limits import OftenEnough
from tests.kit.crowd import at_once
from tests.orders.shop import Shop
from tests.portal.pages import ASKED, Fields

MOST_ENQUIRIES, MOST_BY_LINK = 10, 30


def ask(client: Client, number: int, **more: str):
    return client.post("/ask/", {**ASKED, "email": f"alice{number}@example.org"}, **more)


def test_the_eleventh_enquiry_of_an_hour_is_not_stored_and_keeps_every_answer(anyone):
    assert [ask(anyone, n).status_code for n in range(MOST_ENQUIRIES)] == [302] * MOST_ENQUIRIES
    mails = Mail.objects.count()
    response = ask(anyone, MOST_ENQUIRIES)
    fields = Fields(response.content.decode())
    assert response.status_code == 429
    page = response.content.decode()
    assert "more than we take at a time" in page and "write to shop@example.org" in page
    assert {name: fields.values[name] for name in ("diameter", "street")} == {
        "diameter": "72",
        "street": "Field Lane 1",
    }
    assert (Enquiry.objects.count(), Mail.objects.count()) == (MOST_ENQUIRIES, mails)


def test_nobody_s_box_is_filled_from_many_addresses(shop: Shop):
    sent = [
        Client().post("/ask/", {**ASKED, "email": "Alice@example.org"}, REMOTE_ADDR=f"10.0.0.{n}").status_code
        for n in range(6)
    ]
    assert sent == [302] * 5 + [429]


def test_what_must_be_mended_is_not_counted(anyone):
    for _ in range(MOST_ENQUIRIES + 2):
        assert anyone.post("/ask/", {**ASKED, "diameter": "much"}).status_code == 422
    assert ask(anyone, 0).status_code == 302


def test_enquiries_at_the_same_moment_get_no_further(shop: Shop):
    answers = at_once(MOST_ENQUIRIES + 4, lambda n: ask(Client(), n).status_code)
    assert set(answers) == {302, 429}
    assert 0 < answers.count(302) == Enquiry.objects.count() <= MOST_ENQUIRIES


@pytest.mark.parametrize("proxies", [0, 1])
def test_whose_word_on_the_address_is_taken_follows_from_the_proxies(shop: Shop, settings, proxies):
    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "NUM_PROXIES": proxies}
    for n in range(MOST_ENQUIRIES):
        ask(Client(), n, HTTP_X_FORWARDED_FOR=f"1.1.1.{n}, 20.0.0.1")
    other = ask(Client(), 50, HTTP_X_FORWARDED_FOR="1.1.1.1, 20.0.0.2")
    same = ask(Client(), 51, HTTP_X_FORWARDED_FOR="9.9.9.9, 20.0.0.1")
    assert (other.status_code, same.status_code) == (302 if proxies else 429, 429)


def test_answers_while_typing_stop_at_the_pace_of_a_machine(anyone):
    most, _ = OftenEnough().parse_rate(OftenEnough.rate)
    answers = [anyone.post("/ask/estimate", {"use": "flight"}).status_code for _ in range(most + 1)]
    assert answers == [200] * most + [429]
    response = anyone.post("/ask/", {**ASKED, "look": "1"})
    assert response.status_code == 429
    assert Fields(response.content.decode()).values["diameter"] == "72"
    assert anyone.post("/api/estimate", ASKED, content_type="application/json").status_code == 429
    caches["here"].clear()
    assert anyone.post("/ask/estimate", ASKED).status_code == 200


def test_a_link_writes_only_so_often_and_the_last_words_stay_in_the_box(anyone, shop: Shop):
    order = shop.order()
    written = [
        anyone.post(f"/order/{order.token}/message/", {"body": f"Word {n}"}).status_code
        for n in range(MOST_BY_LINK)
    ]
    assert written == [302] * MOST_BY_LINK
    response = anyone.post(f"/order/{order.token}/message/", {"body": "One more word"})
    assert response.status_code == 429
    assert Fields(response.content.decode()).values["body"] == "One more word"
    assert Message.objects.count() == MOST_BY_LINK
    assert anyone.post(f"/quote/{order.quote.token}/message/", {"body": "Another link"}).status_code == 302


def test_asking_for_codes_and_guessing_passwords_come_to_an_end_and_keep_the_address(shop: Shop):
    for _ in range(4):
        page = Client().post("/account/login/code/", {"email": "owner@example.org"})
    assert "Too many failed" in page.content.decode()
    assert Fields(page.content.decode()).values["email"] == "owner@example.org"
    typed = {"login": "owner@example.org", "password": "guess"}
    for _ in range(7):
        page = Client().post("/account/login/", typed)
    assert "Too many failed" in page.content.decode()
    assert Mail.objects.filter(kind="sign-in").count() == 3


def test_a_sign_in_tried_like_a_machine_is_told_on_a_page_that_goes_on_without_the_password(shop: Shop):
    typed = {"login": "owner@example.org", "password": "my-secret"}
    answers = [Client().post("/account/login/", typed) for _ in range(31)]
    assert answers[-1].status_code == 429
    page = answers[-1].content.decode()
    assert 'name="login" value="owner@example.org"' in page and "my-secret" not in page
