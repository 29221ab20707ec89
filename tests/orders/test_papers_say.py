"""What a customer reads on invoice and care sheet is what was quoted and what was measured."""

from decimal import Decimal

import pytest

from orders.services import charges, invoice
from orders.services.papers_of_build import build_record, care_sheet
from orders.services.papers_of_sale import invoice_paper
from quoting.documents.render import render
from quoting.pricing.money import Money
from quoting.pricing.summary import summary
from quoting.services.quotes import results_of
from tests.orders.shop import Shop
from tests.quoting.documents.test_render import words


def issued(shop: Shop, *, charged: bool = False):
    order = shop.queued()
    if charged:
        charges.charge_change(
            shop.owner, order, Money(Decimal("45.00"), "EUR"), reason="Other decal", now=shop.now
        )
    shop.approve(order, "mock-up")
    shop.release(shop.build(order))
    order.refresh_from_db()
    return invoice.issue_invoice(shop.owner, order, today=shop.today, now=shop.now)


def test_an_invoice_has_the_groups_the_customer_was_quoted_and_sums_to_the_same_net(shop: Shop):
    made = issued(shop)
    paper = invoice_paper(made)
    quoted = summary(results_of(made.order.quote).price)
    assert [Decimal(row["net"]) for row in paper["lines"]] == [row.amount.amount for row in quoted]
    assert sum(Decimal(row["net"]) for row in paper["lines"]) == Decimal(paper["net"])
    assert len(made.lines) > len(paper["lines"]) < 10
    assert all(row["label"][0].isupper() for row in paper["lines"])


def test_a_charge_stands_on_the_invoice_in_a_line_of_its_own(shop: Shop):
    paper = invoice_paper(issued(shop, charged=True))
    assert paper["lines"][-1] == {
        "label": "Change after approval: Other decal",
        "quantity": "",
        "net": "45.00",
    } | {"quantity": paper["lines"][-1]["quantity"]}
    assert sum(Decimal(row["net"]) for row in paper["lines"]) == Decimal(paper["net"])


def test_lines_of_one_group_and_two_taxes_are_two_rows(shop: Shop):
    made = issued(shop)
    first = next(line for line in made.lines if line["category"] == "labour")
    first["tax_code"] = "ZERO"
    rows = invoice_paper(made)["lines"]
    assert [row["label"] for row in rows].count("Work at the bench") == 2
    assert sum(Decimal(row["net"]) for row in rows) == Decimal(made.net) / 100


def test_the_care_sheet_gives_the_torque_and_the_mass_that_were_found(shop: Shop):
    order = shop.ready()
    propeller = order.propellers.get()
    found = next(f for f in results_of(order.quote).findings if f.code == "bolt-torque")
    sheet = care_sheet(propeller)
    assert sheet["torque"][0]["value"].startswith(f"{found.figure:.1f} N m (")
    assert sheet["torque_source"] == found.message
    said = " ".join(words(render("care-sheet", sheet)).split())
    assert "No torque is given" not in said and sheet["torque"][0]["value"] in said
    for paper in (sheet, build_record(propeller)):
        masses = [row["value"] for row in paper["summary"] if row["label"] == "Mass"]
        assert masses == ["5 kg, weighed"]


@pytest.mark.parametrize("typed", [{"use": "display", "category": "not-registered"}])
def test_a_display_piece_gets_no_torque(shop: Shop, typed):
    order = shop.order(**typed)
    assert care_sheet(order.propellers.get())["torque"] == []
