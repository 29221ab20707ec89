"""The order page: what is needed stands high on it, a fault is summed up above, what is done leads back to its part."""

from tests.orders.shop import Shop


def test_the_page_says_where_it_goes_what_it_comes_to_and_what_it_followed(owner, shop: Shop):
    order = shop.queued()
    page = owner.get(f"/desk/orders/{order.number}/").content.decode()
    top = page[: page.index('id="money"')]
    for words in ("Field Lane 1", "Moor", order.quote.reference, f"/desk/enquiries/{order.enquiry.number}/"):
        assert words in top
    assert "With tax" in top
    assert page.index('id="money"') < page.index('id="messages"') < page.index('id="drawings"')


def test_the_bench_reads_the_address_and_no_money(bench, shop: Shop):
    order = shop.queued()
    page = bench.get(f"/desk/orders/{order.number}/").content.decode()
    assert "Field Lane 1" in page and "With tax" not in page


def test_a_fault_in_the_transfer_is_summed_up_and_the_page_opens_at_it(owner, shop: Shop):
    order = shop.order()
    page = owner.post(f"/desk/orders/{order.number}/transfer/", {"amount": "x"}).content.decode()
    assert page.index('id="errors"') < page.index('id="money"')
    [focused] = [tag for tag in page.split("<") if " autofocus" in tag]
    assert 'name="request"' in focused


def test_a_transfer_recorded_leads_back_to_the_money(owner, shop: Shop):
    order = shop.order()
    asked = order.payment_requests.get()
    typed = {
        "request": asked.reference,
        "amount": f"{asked.amount / 100:.2f}",
        "received_on": shop.today.isoformat(),
        "bank_reference": "statement 7",
    }
    went = owner.post(f"/desk/orders/{order.number}/transfer/", typed)
    assert went.headers["Location"].endswith("/#money")
