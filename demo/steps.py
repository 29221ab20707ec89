"""The steps of the walk, each through its service, each printed with its figures, each promise checked."""

import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path as File
from random import Random
from typing import TypeVar

from django.conf import settings
from django.core.management import call_command
from django.utils import timezone

from demo import card
from demo.cast import CUSTOMERS, WALK
from demo.path import BrokenPromise, Path, in_hours
from demo.workshop import demo_time, open_demo
from orders import worker
from orders.models import Document, Enquiry, JournalEntry, Mail, Order, Propeller, ProviderEvent, Stage
from orders.refusal import Refused
from orders.services import export, payment, quote, verify
from orders.who import Who
from quoting.models import Quote
from quoting.pricing.money import Money
from quoting.propeller.finding import Severity

T = TypeVar("T")
SECRET = "whsec_demo_walk"  # noqa: S105 -- the stand-in's, on this machine only


def say(step: str, text: str) -> None:
    print(f"{step:<12} {text}", flush=True)


def promise(kept: bool, words: str) -> None:
    """Stop the walk when a promise is broken."""
    if not kept:
        raise BrokenPromise(words)


def given(value: T | None, words: str) -> T:
    """The value that was promised; its absence is a broken promise."""
    if value is None:
        raise BrokenPromise(words)
    return value


def refused(action: Callable[[], object], words: str) -> None:
    """The service must refuse this."""
    try:
        action()
    except Refused:
        return
    raise BrokenPromise(words)


def walk(folder: File) -> None:
    """Enquiry to dispatch, and the same for a display piece's stamp."""
    call_command("migrate", verbosity=0)
    call_command("load_catalogue", verbosity=0)
    with demo_time():
        walked(folder)


def walked(folder: File) -> None:
    start = in_hours(timezone.now() - timedelta(days=75))
    workshop = open_demo(start)
    path = Path(start, Random(7))  # noqa: S311 -- repeatable, not secret
    say("workshop", f"{workshop.name} is open; {Stage.objects.count()} stages in work")
    enquiry_row, sent = ask_and_quote(path)
    order = accept_once(path, enquiry_row.customer.name, sent)
    pay_by_card(path, order)
    approve_and_queue(path, order)
    build(path, order)
    settle(path, order)
    write_out(folder)


def ask_and_quote(path: Path) -> tuple[Enquiry, Quote]:
    """The instant answer, then the reviewed quote."""
    began = time.perf_counter()
    row, answer = path.ask(WALK, CUSTOMERS[0])
    made = given(answer.estimate, "the enquiry got no answer")
    measures = given(made.assessment.measures, "the enquiry got no geometry")
    price, forecast = given(made.price, "the enquiry got no price"), given(made.forecast, "no date")
    say("ask", f"{row.number}: answered in {1000 * (time.perf_counter() - began):.0f} ms")
    say("", f"{measures.diameter / 0.0254:.0f} x {measures.pitch / 0.0254:.0f} in, {measures.mass:.2f} kg, "
            f"{measures.laminations} laminations, {measures.board_feet:.1f} board feet")  # fmt: skip
    grave = [f for f in made.findings if f.severity in (Severity.CAUTION, Severity.STOP)]
    hours = sum(stage.minutes for stage in made.work) / 60
    say("", f"{len(made.findings)} findings, {len(grave)} of them cautions; {hours:.1f} h of work")
    say("", f"{price.gross} with tax; likely by {forecast.likely_by}, plan on {forecast.plan_on},"
            f" 19 in 20 by {forecast.nineteen_in_twenty}")  # fmt: skip
    promise(price.net + price.tax == price.gross, "net and tax do not sum to gross")
    promise(
        forecast.likely_by <= forecast.plan_on <= forecast.nineteen_in_twenty, "the dates are out of order"
    )
    path.later(days=1)
    sent = path.send(row)
    say(
        "quote",
        f"{sent.reference} sent, holds until {sent.expires_at:%Y-%m-%d}, promised for {sent.promised_for}",
    )
    return row, sent


def accept_once(path: Path, name: str, sent: Quote) -> Order:
    """Accepted twice, one order."""
    path.later(days=2)
    order = path.accept(sent, name)
    refused(lambda: path.accept(sent, name), "a quote was accepted twice")
    promise(Order.objects.count() == 1, "there is not exactly one order")
    say(
        "accept",
        f"{order.number} for {Money.from_minor(order.gross, order.currency)}; accepting again is refused",
    )
    return order


def pay_by_card(path: Path, order: Order) -> None:
    """The deposit by card: the provider's signed message arrives over HTTP, three times, and counts once."""
    asked = order.payment_requests.get(kind="deposit")
    with card.web_process() as web, card.provider(f"{web}/webhooks/card/", SECRET) as provider:
        settings.STRIPE_API_KEY, settings.STRIPE_API_BASE = "sk_test_walk", provider
        settings.STRIPE_WEBHOOK_SECRETS = [SECRET]
        try:
            attempt = payment.start_card_payment(
                Who(order.accepted_name), asked, success_url=f"{web}/", cancel_url=f"{web}/", now=path.now
            )
            card.pay(attempt.url)
            for _ in range(100):
                if ProviderEvent.objects.filter(type="checkout.session.completed").exists():
                    break
                time.sleep(0.05)
            worker.sweep()
            payment.look_up_open_attempts({})
        finally:
            settings.STRIPE_API_KEY = ""
    asked.refresh_from_db()
    promise(
        asked.is_settled and asked.paid == asked.amount,
        "the deposit by card is not in the books exactly once",
    )
    entries = JournalEntry.objects.filter(order_number=order.number).count()
    say(
        "deposit",
        f"{Money.from_minor(asked.paid, asked.currency)} by card; {ProviderEvent.objects.count()} message(s),"
        f" {entries} journal entries",
    )


def approve_and_queue(path: Path, order: Order) -> None:
    """The drawing lets the order join the queue; the mock-up waits and blocks varnish only."""
    path.later(days=1)
    path.approve(order, "drawing")
    order.refresh_from_db()
    promise(order.state == Order.State.QUEUED, f"the order is {order.state}, not queued")
    serial = order.propellers.get().serial
    say("queue", f"drawing approved, {order.number} is queued with serial number {serial}")


def build(path: Path, order: Order) -> None:
    """Every stage in order, with its measurements; varnish waits for the mock-up."""
    propeller = order.propellers.get()
    balance = propeller.stages.get(key="balance")
    refused(lambda: path.work_at(propeller, balance, "B-117"), "balancing was recorded before boring")
    path.build(order, until="varnish")
    varnish = propeller.stages.get(key="varnish")
    refused(
        lambda: path.work_at(propeller, varnish, "B-117"), "varnish was laid before the mock-up was approved"
    )
    say(
        "bench",
        f"{propeller.stages.filter(state='done').count()} stages recorded; varnish waits for the mock-up",
    )
    path.approve(order, "mock-up")
    for stage in propeller.stages.filter(position__gte=varnish.position).order_by("position"):
        path.work_at(propeller, stage, "B-117")
    propeller.refresh_from_db()
    promise(propeller.state == Propeller.State.RELEASED, "the propeller is not released")
    minutes = sum(r.minutes for s in propeller.stages.all() for r in s.records.all())
    estimated = sum(s.minutes for s in propeller.stages.all())
    say(
        "release",
        f"{propeller.serial} inspected and released; {minutes / 60:.1f} h recorded,"
        f" {estimated / 60:.1f} h estimated",
    )


def settle(path: Path, order: Order) -> None:
    """Invoice, balance, dispatch, and books that balance."""
    order.refresh_from_db()
    path.finish(order)
    order.refresh_from_db()
    promise(order.state == Order.State.DISPATCHED, f"the order is {order.state}, not dispatched")
    invoice = order.invoices.get(type_code="380")
    due = Money.from_minor(invoice.due, invoice.currency)
    say(
        "invoice",
        f"{invoice.number}: {Money.from_minor(invoice.gross, invoice.currency)}, balance {due} paid",
    )
    say("dispatch", f"{order.number} by {order.carrier}, {order.tracking}")
    faults = list(verify.faults())
    promise(not faults, f"the books are not in order: {faults}")
    for row in verify.trial_balance():
        say("", f"{row.code} {row.name:<42} {Money.from_minor(row.debits - row.credits, row.currency)}")


def write_out(folder: File) -> None:
    """Everything the worker would make: papers, plan, mails; and the journal as CSV."""
    worker.sweep()
    quote.lapse_expired({})
    papers = folder / "papers"
    papers.mkdir()
    for document in Document.objects.order_by("made_at", "id"):
        (papers / document.file_name).write_bytes(document.file.open("rb").read())
    (papers / "journal.csv").write_bytes(export.journal_csv())
    kinds = set(Document.objects.values_list("kind", flat=True))
    promise(
        {"quote", "invoice", "build-record", "care-sheet", "packing-list"} <= kinds,
        f"papers are missing: only {sorted(kinds)}",
    )
    say("papers", f"{', '.join(sorted(kinds))}, journal.csv; {Mail.objects.count()} mails in the tray")
