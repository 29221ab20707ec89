"""What a page says of an enquiry, an order and their conversation is what is true now."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from orders.models import ForecastHistory, Mail, Order, PlanVersion
from orders.services import invoice
from orders.services.forecast_moves import CUSTOMER, told_of
from orders.services.quote import decline_quote
from tests.orders.shop import Shop


def page(client: Client, kind: str, row) -> str:
    return client.get(f"/{kind}/{row.token}/").content.decode()


def test_the_conversation_follows_the_job_on_both_sides(anyone, owner, shop: Shop):
    sent = shop.sent_quote()
    anyone.post(f"/quote/{sent.token}/message/", {"body": "Is ash possible?"})
    order = shop.accept(sent)
    anyone.post(f"/order/{order.token}/message/", {"body": "When do you begin?"})
    places = (page(anyone, "order", order), page(anyone, "quote", sent), page(anyone, "enquiry", order.enquiry),
              owner.get(f"/desk/orders/{order.number}/").content.decode())  # fmt: skip
    for shown in places:
        assert 0 < shown.index("Is ash possible?") < shown.index("When do you begin?")


def test_one_jobs_words_are_not_anothers(anyone, shop: Shop):
    first, second = shop.order(), shop.order()
    anyone.post(f"/order/{first.token}/message/", {"body": "Only for the first"})
    assert "Only for the first" not in page(anyone, "order", second)


def test_the_enquiry_of_an_order_says_ordered_and_leads_there(anyone, shop: Shop):
    order = shop.order()
    shown = page(anyone, "enquiry", order.enquiry)
    assert "Ordered" in shown and f"/order/{order.token}/" in shown
    assert "A quote is out" not in shown and "Withdraw" not in shown


def test_the_enquiry_of_a_declined_quote_says_so(anyone, shop: Shop):
    sent = shop.sent_quote()
    decline_quote(sent.token, reason="Too dear", name="Alice", now=shop.now)
    assert "Quote declined" in page(anyone, "enquiry", sent.series.enquiry)


def test_the_enquiry_of_a_lapsed_quote_does_not_ask_to_accept(anyone, shop: Shop):
    now = shop.now
    shop.later(days=-60)
    sent = shop.sent_quote()
    shop.now = now
    shown = page(anyone, "enquiry", sent.series.enquiry)
    assert "Quote lapsed" in shown and "A quote is out" not in shown


def test_the_drawing_of_an_approved_order_says_approved(anyone, shop: Shop):
    order = shop.order()
    state = lambda: anyone.get(f"/order/{order.token}/").context["engineering"].sheet  # noqa: E731
    assert ">for approval<" in state() and ">sent<" not in state()
    shop.approve(order, "drawing")
    assert ">approved<" in state()


def test_a_paid_order_does_not_wait_for_its_balance(anyone, shop: Shop):
    order = shop.ready()
    assert "The invoice with the balance comes next" in page(anyone, "order", order)
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    assert "sent when the balance is in" in page(anyone, "order", order)
    shop.pay(order, "balance")
    assert "paid. It is packed and sent next" in page(anyone, "order", order)


@pytest.fixture
def forecast(shop: Shop) -> Order:
    order = shop.order()
    plan = PlanVersion.objects.create(version="1", as_of=shop.now, current=True)
    day = timezone.localdate() + timedelta(days=30)
    ForecastHistory.objects.create(
        order=order, plan=plan, likely_by=day, plan_on=day, nineteen_in_twenty=day,
        waits=["deposit", "drawing", "mock-up"], customer_days=4, at=shop.now,
    )  # fmt: skip
    return order


def test_the_clock_waits_on_nothing_that_has_come_since_the_forecast(shop: Shop, forecast: Order):
    assert len(told_of(forecast, CUSTOMER).waits) == 3
    shop.pay(forecast)
    shop.approve(forecast, "drawing")
    assert told_of(forecast, CUSTOMER).waits == ("your approval of the mock-up, before varnish",)
    shop.approve(forecast, "mock-up")
    told = told_of(forecast, CUSTOMER)
    assert (told.waits, told.customer_days) == ((), 0)


def test_an_alert_names_what_was_written_about_and_leads_there(anyone, shop: Shop):
    order = shop.order()
    anyone.post(f"/order/{order.token}/message/", {"body": "When?"})
    mail = Mail.objects.filter(kind="alert").latest("id")
    assert mail.subject == f"Message on order {order.number}"
    assert f"/desk/orders/{order.number}/" in mail.body


def test_a_mail_writes_money_and_days_as_the_pages_do(shop: Shop):
    shop.sent_quote()
    body = Mail.objects.get(kind="quote-sent").body
    quote = shop.sent_quote()
    assert f"{quote.gross.amount:,}".replace(",", "\N{NO-BREAK SPACE}") in body
    assert f"until {timezone.localtime(quote.expires_at):%-d %B %Y}" in body


def test_the_code_to_sign_in_comes_in_the_workshops_name(anyone, alice, shop: Shop):
    anyone.post("/account/login/code/", {"email": "alice@example.org"})
    mail = Mail.objects.get(kind="sign-in")
    code = mail.subject.split()[0]
    assert mail.subject == f"{code} is your code for Test Airscrews" and code in mail.body
    assert mail.body.strip().endswith("Test Airscrews")
    for foreign in ("127.0.0.1", "testserver", "Hello from", "Thank you for using"):
        assert foreign not in mail.subject + mail.body


def test_a_code_asked_for_with_an_unknown_address_is_answered_in_our_words(anyone, shop: Shop):
    anyone.post("/account/login/code/", {"email": "nobody@example.org"})
    mail = Mail.objects.get(to="nobody@example.org")
    assert "No propeller was asked for" in mail.subject and "/ask/" in mail.body
    assert "Test Airscrews" in mail.body and "sign up" not in mail.body


def test_signing_in_says_so_without_an_internal_name(anyone, alice, shop: Shop):
    anyone.post("/account/login/code/", {"email": "alice@example.org"})
    code = Mail.objects.get(kind="sign-in").subject.split()[0]
    page = anyone.post("/account/login/code/confirm/", {"code": code}, follow=True)
    said = [str(message) for message in page.context["messages"]]
    assert "You are signed in." in said and not any("customer-" in words for words in said)


def test_a_ready_order_says_since_when(anyone, shop: Shop):
    order = shop.ready()
    since = timezone.localtime(order.ready_at)
    assert f"<b>{since:%-d %B %Y}</b>" in page(anyone, "order", order)
