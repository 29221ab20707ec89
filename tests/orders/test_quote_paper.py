"""The quote's paper from its rows: the same bytes each time, text that can be copied, summary and lines to the same net."""

import hashlib
from decimal import Decimal
from io import BytesIO

import pikepdf
import pytest

from orders.services.papers_of_sale import quote_paper
from orders.services.quote import Review
from quoting.documents.render import render
from quoting.pricing.terms import Override
from tests.orders.shop import Shop
from tests.quoting.documents.test_render import words


@pytest.fixture
def sent(shop: Shop):
    return shop.sent_quote(Review(overrides=(Override("timber", "Own stock", rate=Decimal(2)),)))


def test_the_same_quote_gives_the_same_bytes(sent):
    prints = [hashlib.sha256(render("quote", quote_paper(sent))).hexdigest() for _ in range(2)]
    assert prints[0] == prints[1]


def test_summary_and_lines_both_sum_to_the_net_and_totals_add_up(sent):
    paper = quote_paper(sent)
    for rows in (paper["price_summary"], paper["lines"]):
        assert sum(Decimal(row["net"]) for row in rows) == Decimal(paper["net"]) == sent.net.amount
    taxes = sum(Decimal(row["tax"]) for row in paper["taxes"])
    assert Decimal(paper["net"]) + taxes == Decimal(paper["gross"])
    assert Decimal(paper["deposit"]) + Decimal(paper["balance"]) == Decimal(paper["gross"])


def test_the_paper_can_be_copied_and_says_what_it_was_worked_with_and_what_the_terms_keep(sent):
    flat = " ".join(words(render("quote", quote_paper(sent))).split())
    for said in ("Own stock", "Timber: Yellow birch", "THE PRICE LINE BY LINE", "we keep 10 percent of the deposit",
                 "45.00 EUR before tax", sent.content_hash[:16], "price book 2026-1", "Q-2026-0001"):  # fmt: skip
        assert said in flat, said


def test_the_paper_leads_to_the_page_of_its_acceptance(sent):
    with pikepdf.open(BytesIO(render("quote", quote_paper(sent)))) as paper:
        links = [str(a.A.URI) for page in paper.pages for a in page.get("/Annots", [])]
    assert any(sent.token in link for link in links)
