"""Many customers' browsers accept one quote at once, over HTTP: one order, and a clear page for everybody else."""

from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, OpenerDirector, build_opener

from django.utils import timezone

from orders.models import Order, PaymentRequest
from quoting.models import Quote
from tests.kit.crowd import at_once
from tests.kit.web import web
from tests.orders.conftest import either  # noqa: F401
from tests.orders.shop import Shop


def browser(address: str, sent: Quote) -> tuple[OpenerDirector, str]:
    """A browser that has opened the quote, and the token of its form."""
    jar = HTTPCookieProcessor()
    opened = build_opener(jar)
    opened.open(f"{address}/quote/{sent.token}/terms/", timeout=60).read()
    return opened, next(c.value for c in jar.cookiejar if "csrf" in c.name)


def press(address: str, sent: Quote, opened: OpenerDirector, token: str) -> tuple[int, str]:
    form = {
        "csrfmiddlewaretoken": token, "name": "Alice Wren", "terms": "on",
        "content_hash": sent.content_hash, "terms_version": sent.terms_version,
    }  # fmt: skip
    try:
        answer = opened.open(f"{address}/quote/{sent.token}/accept/", urlencode(form).encode(), timeout=120)
    except HTTPError as refused:
        return refused.code, refused.read().decode()
    return answer.status, answer.url


def test_a_crowd_of_browsers_makes_one_order_and_each_loser_sees_a_clear_page(either: Shop, settings):  # noqa: F811
    settings.ALLOWED_HOSTS = ["127.0.0.1"]
    either.now = timezone.now()
    sent = either.sent_quote()
    crowd = 50 if either.vendor == "postgres" else 20
    with web() as address:
        browsers = [browser(address, sent) for _ in range(crowd)]
        answers = at_once(crowd, lambda n: press(address, sent, *browsers[n]))
    order, request = Order.objects.get(), PaymentRequest.objects.get()
    assert (request.kind, request.order_id) == ("deposit", order.pk)
    won = [url for status, url in answers if status == 200]
    lost = [page for status, page in answers if status == 409]
    assert won == [f"{address}/order/{order.token}/"] and len(lost) == crowd - 1
    assert all("accepted already" in page and f"/order/{order.token}/" in page for page in lost)
