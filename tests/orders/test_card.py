"""Card payments: through the provider's own library against a stand-in process, each fact booked once."""

import itertools
from datetime import UTC, datetime

import pytest

from orders.models import AuditRecord, JournalEntry, Mail, OutboxJob, Payment, PaymentAttempt, ProviderEvent
from orders.refusal import Refused
from orders.services import card, chart, payment, postings
from orders.services.verify import faults
from orders.worker import JOBS
from tests.kit.crowd import at_once
from tests.kit.provider import SECRET
from tests.orders.card_steps import begin, receive, signed, told_of, work_off


def test_the_published_test_vector_is_accepted(settings):
    settings.STRIPE_WEBHOOK_SECRETS = ["whsec_test_secret"]
    body = b'{"id":"evt_test","object":"event"}'
    mark = "b0d2d9a36e336ac89c055bef9da2194fb43d132b8a924062e03bcc50d3b03f35"
    now = datetime.fromtimestamp(1614556800, UTC)
    assert card.read_message(body, f"t=1614556800,v1={mark}", now=now)["id"] == "evt_test"


BODY = b'{"id":"evt_1","object":"event"}'


@pytest.mark.parametrize(
    ("body", "header"),
    [
        (BODY, lambda: ""),
        (BODY, lambda: "t=,v1="),
        (BODY, lambda: signed(BODY, "whsec_other")),
        (BODY + b" ", lambda: signed(BODY)),
        (BODY, lambda: signed(BODY, age=302)),
        (BODY, lambda: signed(BODY, age=-330)),
        (b"\xff\xfe", lambda: signed(BODY)),
    ],
    ids=["missing", "empty", "wrong secret", "one byte more", "too old", "from the future", "not text"],
)
def test_a_message_that_is_not_the_providers_is_refused_and_not_stored(shop, settings, body, header):
    settings.STRIPE_WEBHOOK_SECRETS = [SECRET]
    with pytest.raises(Refused) as refused:
        payment.receive_event(body, header(), now=datetime.now(UTC))
    assert (refused.value.status, ProviderEvent.objects.count()) == (400, 0)


def test_a_second_secret_and_a_second_signature_are_good_while_secrets_rotate(settings):
    settings.STRIPE_WEBHOOK_SECRETS = ["whsec_old", SECRET]
    header = signed(BODY)
    two = header.replace(",v1=", ",v1=" + "0" * 64 + ",v1=")
    assert card.read_message(BODY, header, now=datetime.now(UTC))["id"] == "evt_1"
    assert card.read_message(BODY, two, now=datetime.now(UTC))["id"] == "evt_1"


def test_a_huge_message_is_refused_before_it_is_read(settings):
    with pytest.raises(Refused, match="too long"):
        card.read_message(b"x" * 5_000_000, "", now=datetime.now(UTC))


def test_a_card_payment_is_booked_with_its_fee_and_lets_the_order_join_the_queue(shop, with_cards):
    order = shop.order()
    shop.approve(order, "drawing")
    attempt = begin(shop, order)
    assert attempt.url.startswith(with_cards.address)
    with_cards.pay(attempt.session)
    for event in told_of(with_cards, attempt):
        receive(event)
    work_off()
    order.refresh_from_db()
    paid = Payment.objects.get()
    assert (order.state, paid.amount, paid.provider) == ("queued", order.deposit, "stripe")
    assert paid.fee == round(order.deposit * 0.029 + 0.0001) + 30
    assert postings.balance(chart.CLEARING) == order.deposit - paid.fee
    assert list(faults()) == []


def test_one_fact_told_by_many_deliveries_and_two_kinds_of_message_is_booked_once(either, with_cards):
    order = either.order()
    attempt = begin(either, order)
    with_cards.pay(attempt.session)
    event = told_of(with_cards, attempt)[0]
    twin = {**event, "id": event["id"] + "x", "type": "checkout.session.async_payment_succeeded"}
    results = at_once(20, lambda n: receive(twin if n % 2 else event))
    assert {type(r) for r in results} == {ProviderEvent}
    assert ProviderEvent.objects.count() == OutboxJob.objects.filter(kind="apply-event").count() == 2
    jobs = list(OutboxJob.objects.filter(kind="apply-event"))
    at_once(4, lambda n: JOBS["apply-event"](jobs[n % 2].payload))
    assert (Payment.objects.count(), Mail.objects.filter(kind="receipt").count()) == (1, 1)
    assert JournalEntry.objects.filter(source__startswith="payment").count() == 1


def test_every_order_of_messages_ends_in_the_same_state(shop, with_cards):
    order = shop.order()
    attempt = begin(shop, order)
    with_cards.pay(attempt.session, "later")
    with_cards.ask(f"/_standin/settle/{attempt.session}", "succeeded=yes")
    told = told_of(with_cards, attempt)
    assert [e["type"].rsplit(".", 1)[1] for e in told] == ["completed", "async_payment_succeeded"]
    for turn in itertools.permutations(told):
        for event in turn:
            receive({**event, "id": f"{event['id']}-{turn[0]['id']}"})
        work_off()
    attempt.refresh_from_db()
    assert (attempt.state, Payment.objects.count()) == ("paid", 1)


def test_completed_but_unpaid_moves_nothing(shop, with_cards):
    order = shop.order()
    attempt = begin(shop, order)
    with_cards.pay(attempt.session, "later")
    receive(told_of(with_cards, attempt)[0])
    work_off()
    assert Payment.objects.count() == 0
    assert ProviderEvent.objects.get().state == "applied"


@pytest.mark.parametrize(
    "change", [{"amount": 1}, {"currency": "USD"}, {"session": "cs_test_other"}], ids=lambda c: next(iter(c))
)
def test_a_payment_that_does_not_fit_is_set_aside_and_told_to_the_owner(shop, with_cards, change):
    attempt = begin(shop, shop.order())
    PaymentAttempt.objects.filter(pk=attempt.pk).update(**change)
    with_cards.pay(attempt.session)
    event = receive(told_of(with_cards, attempt)[0])
    work_off()
    event.refresh_from_db()
    assert (event.state, Payment.objects.count()) == ("quarantined", 0)
    assert Mail.objects.filter(kind="alert", subject__contains="set aside").count() == 1


def test_a_live_message_about_a_test_session_is_set_aside(shop, with_cards):
    attempt = begin(shop, shop.order())
    with_cards.pay(attempt.session)
    event = receive({**told_of(with_cards, attempt)[0], "livemode": True})
    work_off()
    event.refresh_from_db()
    assert (event.state, Payment.objects.count()) == ("quarantined", 0)


def test_a_message_about_an_unknown_attempt_is_parked_and_booked_when_the_attempt_appears(shop, with_cards):
    attempt = begin(shop, shop.order())
    with_cards.pay(attempt.session)
    kept = PaymentAttempt.objects.get(pk=attempt.pk)
    PaymentAttempt.objects.filter(pk=attempt.pk).delete()
    event = receive(told_of(with_cards, attempt)[0])
    work_off()
    event.refresh_from_db()
    assert (event.state, Payment.objects.count()) == ("parked", 0)
    kept.save(force_insert=True)
    work_off()
    event.refresh_from_db()
    assert (event.state, Payment.objects.count()) == ("applied", 1)


def test_unknown_kinds_and_broken_messages_change_nothing(shop, with_cards):
    receive({"id": "evt_a", "type": "customer.subscription.paused", "data": {"object": {}}})
    receive({"id": "evt_b", "type": "checkout.session.completed", "data": {}})
    work_off()
    assert dict(ProviderEvent.objects.values_list("event_id", "state")) == {
        "evt_a": "ignored",
        "evt_b": "quarantined",
    }


def test_paying_two_sessions_loses_nothing_and_leaves_the_second_as_credit(shop, with_cards):
    order = shop.order()
    first = begin(shop, order)
    PaymentAttempt.objects.filter(pk=first.pk).update(state="expired")  # as if its closing had been missed
    second = begin(shop, order)
    for attempt in (first, second):
        with_cards.pay(attempt.session)
        receive(told_of(with_cards, attempt)[-1])
    work_off()
    assert postings.balance(chart.DEPOSITS) == postings.balance(chart.CREDIT) == -order.deposit
    assert Mail.objects.filter(kind="alert", subject__contains="More was paid").exists()


def test_asking_again_leads_to_the_same_session_even_for_many_clicks_at_once(either, with_cards):
    order = either.order()
    before = len(with_cards.ask("/_standin/state")["sessions"])
    clicks = at_once(6, lambda n: begin(either, order))
    assert {a.session for a in [*clicks, begin(either, order)]} == {clicks[0].session}
    assert len(with_cards.ask("/_standin/state")["sessions"]) == before + 1
    begun = AuditRecord.objects.get(verb="begin a card payment")
    assert (begun.name, begun.detail["amount"]) == (either.owner.name, order.deposit)


def test_a_session_over_another_amount_is_closed_before_a_new_one_is_opened(shop, with_cards):
    order = shop.order()
    first = begin(shop, order)
    payment.record_bank_transfer(
        shop.bookkeeper, order.payment_requests.get(), 10_000, bank_reference="B-1",
        received_on=shop.today, today=shop.today, now=shop.now,
    )  # fmt: skip
    second = begin(shop, order)
    assert card.look_up(first.session).status == "expired"
    assert (second.amount, second.session == first.session) == (order.deposit - 10_000, False)


def test_a_session_is_not_led_to_after_its_day(shop, with_cards):
    order = shop.order()
    first = begin(shop, order)
    shop.later(hours=24)
    assert begin(shop, order).session != first.session


def test_a_payment_whose_message_was_lost_is_found_by_asking(shop, with_cards):
    attempt = begin(shop, shop.order())
    with_cards.pay(attempt.session)
    payment.look_up_open_attempts({})
    assert Payment.objects.get().attempt_id == attempt.pk


def test_one_session_that_is_unknown_or_does_not_fit_keeps_no_other_from_being_found(shop, with_cards):
    unknown, other, good = (begin(shop, shop.order()) for _ in range(3))
    PaymentAttempt.objects.filter(pk=unknown.pk).update(session="cs_test_gone")
    PaymentAttempt.objects.filter(pk=other.pk).update(amount=1)
    with_cards.pay(good.session)
    for _ in range(2):
        payment.look_up_open_attempts({})
    states = {a.pk: a.state for a in PaymentAttempt.objects.all()}
    assert (states[unknown.pk], states[other.pk], states[good.pk]) == ("aside", "aside", "paid")
    assert Mail.objects.filter(kind="alert", subject__contains="set aside").count() == 2
    assert Payment.objects.get().attempt_id == good.pk


def test_a_provider_out_of_reach_leaves_every_attempt_for_the_next_round(shop, with_cards, settings):
    attempt = begin(shop, shop.order())
    settings.STRIPE_API_BASE = "http://127.0.0.1:9"
    payment.look_up_open_attempts({})
    attempt.refresh_from_db()
    assert attempt.state == "open" and not Mail.objects.filter(subject__contains="set aside").exists()


def test_an_answer_lost_on_the_way_opens_no_second_session(shop, with_cards):
    order = shop.order()
    before = len(with_cards.ask("/_standin/state")["sessions"])
    with_cards.ask("/_standin/fail-after-next", "")
    with pytest.raises(Refused, match="does not answer"):
        begin(shop, order)
    attempt = begin(shop, order)
    assert (attempt.state, PaymentAttempt.objects.count()) == ("open", 1)
    assert len(with_cards.ask("/_standin/state")["sessions"]) == before + 1


def test_without_a_key_cards_are_not_offered(shop):
    with pytest.raises(Refused, match="bank transfer"):
        begin(shop, shop.order())
    assert PaymentAttempt.objects.count() == 0


def test_when_the_provider_is_away_the_customer_is_told_and_nothing_is_booked(shop, settings):
    settings.STRIPE_API_KEY, settings.STRIPE_API_BASE = "sk_test_x", "http://127.0.0.1:9"
    with pytest.raises(Refused) as refused:
        begin(shop, shop.order())
    assert (refused.value.status, Payment.objects.count()) == (503, 0)
