"""Every form of an order's page: refused at its field with all that was typed, done once otherwise."""

from datetime import timedelta

import pytest
from django.utils import timezone

from orders.desk.order_forms import CancelForm, HoldForm, NoteForm
from orders.models import Message, Order
from orders.services import invoice
from orders.services.charges import Cancelling
from quoting.pricing.money import Money
from tests.orders.shop import Shop
from tests.portal.pages import Fields


def post(client, order: Order, step: str, **typed: str):
    return client.post(f"/desk/orders/{order.number}/{step}/", typed)


@pytest.mark.parametrize(
    ("step", "typed", "field"),
    [
        ("hold", {"reason": ""}, "reason"),
        ("cancel", {"reason": "Sold", "retained": "99999"}, "retained"),
        ("answer", {"body": "x" * 10_000}, "body"),
        ("change-fee", {"reason": "Decal", "amount": "46"}, "amount"),
    ],
)
def test_an_odd_form_is_refused_at_its_field_and_keeps_what_was_typed(owner, shop: Shop, step, typed, field):
    order = shop.queued()
    response = post(owner, order, step, **typed)
    kept = response.content.decode().replace("\n", "")
    fields = Fields(kept)
    order.refresh_from_db()
    assert (response.status_code, fields.invalid, order.state) == (422, {field}, "queued")
    assert f">{typed[field]}</textarea>" in kept or f'value="{typed[field]}"' in kept
    assert not Message.objects.exists() and not order.charges.exists()


EUR = Money.from_minor
TERMS = Cancelling(EUR(80_000, "EUR"), EUR(80_000, "EUR"), False, EUR(8_000, "EUR"))


@pytest.mark.parametrize("typed", ["-1", "NaN", "80.01", "1e1", "80.001", "\u0661", ""])
def test_no_more_is_kept_than_the_terms_say(typed):
    assert set(CancelForm({"reason": "Sold", "retained": typed}, terms=TERMS).errors) == {"retained"}
    assert CancelForm({"reason": "Sold", "retained": "80.00"}, terms=TERMS).is_valid()


def test_words_that_are_too_long_or_missing_are_refused():
    for form in (HoldForm, NoteForm):
        [field] = form().fields
        assert {*form({field: "x" * 600}).errors, *form({field: " "}).errors} == {field}


def test_cancelling_shows_what_the_terms_say_and_keeps_no_more(owner, shop: Shop):
    order = shop.queued()
    page = owner.get(f"/desk/orders/{order.number}/")
    kept = page.context["cancelling"].kept
    assert Fields(page.content.decode()).values["retained"] == str(kept.amount)
    assert post(owner, order, "cancel", reason="Sold the project", retained="0").status_code == 302
    order.refresh_from_db()
    assert order.state == "cancelled"


def test_a_refused_dispatch_keeps_carrier_tracking_and_cost(owner, shop: Shop):
    order = shop.ready()
    owner.post(f"/desk/orders/{order.number}/invoice/")
    typed = {"carrier": "Haulage", "tracking": "T-1", "freight_cost": "88.00"}
    response = post(owner, order, "dispatch", **typed)
    fields = Fields(response.content.decode())
    assert response.status_code == 422 and "not every propeller is crated" in response.content.decode()
    assert {name: fields.values[name] for name in typed} == typed


def test_an_unpaid_order_is_sent_on_account_only_with_a_reason(owner, shop: Shop):
    order = shop.ready()
    shop.do(order.propellers.get().stages.get(key="crate"))
    owner.post(f"/desk/orders/{order.number}/invoice/")
    assert post(owner, order, "dispatch", carrier="Haulage").status_code == 422
    sent = post(owner, order, "dispatch", carrier="Haulage", on_account="A flying club", freight_cost="88")
    order.refresh_from_db()
    assert (sent.status_code, order.state, order.freight_cost) == (302, "dispatched", 8800)
    assert "Estimated to cost" in owner.get(f"/desk/orders/{order.number}/").content.decode()
    assert post(owner, order, "freight", freight_cost="12,345").status_code == 422
    assert post(owner, order, "freight", freight_cost="91.50").status_code == 302


def test_storage_is_shown_to_both_sides_and_charged_by_a_button(owner, anyone, shop: Shop):
    order = shop.ready()
    shop.do(order.propellers.get().stages.get(key="crate"))
    invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)
    order.payment_requests.filter(kind="balance").update(asked_at=timezone.now() - timedelta(days=40))
    assert "by the terms storage comes to" in owner.get(f"/desk/orders/{order.number}/").content.decode()
    assert "storage has come to" in anyone.get(f"/order/{order.token}/").content.decode()
    assert post(owner, order, "storage").status_code == 302
    assert order.charges.get().net == 1600


def test_hours_recorded_stand_together_beside_the_estimate(owner, shop: Shop):
    order = shop.ready()
    page = owner.get(f"/desk/orders/{order.number}/")
    [build] = page.context["builds"]
    assert build.recorded == sum(r.minutes for s, _ in build.stages for r in s.records.all())
    assert build.estimated == sum(s.minutes for s, _ in build.stages)
