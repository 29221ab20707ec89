"""One propeller's way through the services, step by step, at the times it is given: for the history and for the walk."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from demo.people import BENCH, BOOKKEEPER, OWNER
from orders.models import BenchPerson, Enquiry, Order, PaymentRequest, Propeller, Stage
from orders.services import (
    answering,
    approval,
    assumptions,
    bench,
    dispatch,
    enquiry,
    invoice,
    owed,
    payment,
    quote,
    refund,
    release,
    takeover,
)
from orders.services.accepted import build_figures
from orders.services.assumptions import Said, Word
from orders.services.measurements import Measurement, measurements
from orders.services.takeover import PaperRecord
from orders.who import Who, somebody
from quoting.models import Quote
from quoting.pricing.lines import Category
from quoting.pricing.money import Money, total
from quoting.services.answers import kept
from quoting.services.estimating import Answer, live_estimate
from quoting.services.quotes import results_of
from quoting.services.serial import unstructured

OPENS, CLOSES = 8, 16
INSPECTION = "inspect"


class BrokenPromise(RuntimeError):
    """A step did not do what it promises."""


@dataclass
class Path:
    """The people and the clock of one build. `random` makes minutes and measurements plausible and repeatable."""

    now: datetime
    random: Random
    owner: Who = field(default_factory=lambda: somebody(User.objects.get(username=OWNER)))
    bench: Who = field(default_factory=lambda: somebody(User.objects.get(username=BENCH)))
    bookkeeper: Who = field(default_factory=lambda: somebody(User.objects.get(username=BOOKKEEPER)))

    people: list[BenchPerson] = field(default_factory=lambda: list(BenchPerson.objects.order_by("key")))

    def later(self, *, days: float = 0, minutes: float = 0) -> datetime:
        """Let time pass and come out inside a working day."""
        self.now = in_hours(self.now + timedelta(days=days, minutes=minutes))
        return self.now

    @property
    def today(self) -> Any:
        return timezone.localdate(self.now)

    def ask(self, typed: Mapping[str, str], person: tuple[str, ...]) -> tuple[Enquiry, Answer]:
        """The customer asks and gets the instant answer."""
        name, country = person[0], person[-1]
        typed = {**typed, "country": country}
        answer = live_estimate(typed, today=self.today)
        if answer.specification is None or answer.estimate is None:
            raise BrokenPromise(f"no answer to {typed}: {[p.message for p in answer.problems]}")
        keys = ("name", "email", "street", "postcode", "city", "country")
        address = dict(zip(keys, person, strict=True))
        row = enquiry.store_enquiry(
            Who(name),
            typed=dict(typed),
            specification=unstructured(answer.specification),
            estimate=kept(answer),
            address=address,
            language="en",
            now=self.now,
        )
        return row, answer

    def send(self, row: Enquiry, **review: Any) -> Quote:
        """The owner reviews and sends."""
        draft = quote.prepare_quote(self.owner, row, quote.Review(**review), today=self.today, now=self.now)
        return quote.send_quote(self.owner, draft, now=self.now)

    def accept(self, sent: Quote, name: str) -> Order:
        """The customer accepts by the link, bound to what was on the page."""
        return quote.accept_quote(
            sent.token, seen=sent.content_hash, terms_version=sent.terms_version, name=name, now=self.now
        )

    def pay(self, order: Order, kind: str) -> None:
        """The customer's transfer arrives for the deposit or the balance."""
        asked: PaymentRequest = order.payment_requests.get(kind=kind)
        if asked.open:
            payment.record_bank_transfer(
                self.bookkeeper,
                asked,
                asked.open,
                bank_reference=f"statement {self.today:%Y-%m-%d} {asked.reference}",
                received_on=self.today,
                today=self.today,
                now=self.now,
            )

    def pay_back(self, order: Order) -> None:
        """Whatever is owed back goes to the customer's bank."""
        refund.pay_back_by_bank(
            self.bookkeeper,
            order,
            owed.back_of(order).owed,
            bank_reference=f"statement {self.today:%Y-%m-%d} {order.number} back",
            paid_on=self.today,
            today=self.today,
            now=self.now,
        )

    def approve(self, order: Order, kind: str) -> None:
        """The customer confirms what was assumed, then approves a picture, bound to what was shown."""
        asked_of = {row.key: Said(Word.ASSUMED, {}) for row in assumptions.unanswered(order)}
        if asked_of:
            answering.answer_on_order(Who(order.accepted_name), order, asked_of, now=self.now)
        asked = order.approvals.get(kind=kind, state="asked")
        approval.approve(Who(order.accepted_name), asked, seen=asked.shown_hash, now=self.now)

    def build(self, order: Order, *, until: str = "", lot: str = "B-117") -> None:
        """Record every stage in order, up to but not including `until` ("" for all, release and crate too)."""
        for propeller in order.propellers.all():
            for stage in propeller.stages.order_by("position"):
                if stage.key == until:
                    return
                self.work_at(propeller, stage, lot)

    def work_at(self, propeller: Propeller, stage: Stage, lot: str) -> None:
        """One stage: wait for what rests, measure, record; the inspection releases."""
        stage = Stage.objects.select_related("propeller__order__quote").get(pk=stage.pk)
        before = (
            propeller.stages.filter(position__lt=stage.position, state="done").order_by("-position").first()
        )
        if before and before.finished_at:
            self.now = max(self.now, before.finished_at + timedelta(minutes=before.wait_minutes + 1))
        self.later(minutes=5)
        person, minutes = self.skilled(stage), self.minutes_of(stage)
        measured = {m.key: self.measure(m, lot) for m in bench.required(stage)}
        self.now += timedelta(minutes=minutes)
        if stage.key == INSPECTION:
            found = release.inspect_and_release(
                self.owner, stage.propeller, person, minutes=minutes, measurements=measured, now=self.now
            )
            propeller.refresh_from_db()
            if propeller.state != Propeller.State.RELEASED:
                raise BrokenPromise(f"{propeller} is not released: {[f.message for f in found]}")
            return
        done = bench.record_stage(
            self.bench, stage, person, minutes=minutes, measurements=measured, now=self.now
        )
        if not done.is_done:
            raise BrokenPromise(f"{stage} stays open: {[f.message for f in done.findings]}")

    def take_over(self, order: Order, *, lot: str = "B-117") -> None:
        """A build of the paper days: all stages up to the inspection at once, then inspected, released and crated."""
        for propeller in order.propellers.select_related("order__quote"):
            wanted = measurements(build_figures(propeller))
            records = []
            stages = list(propeller.stages.order_by("position"))
            for stage in stages:
                if stage.key == INSPECTION:
                    break
                began, minutes = self.later(minutes=5), self.minutes_of(stage)
                measured = {m.key: self.measure(m, lot) for m in wanted.get(stage.key, ())}
                self.now += timedelta(minutes=minutes)
                records.append(
                    PaperRecord(stage.key, self.skilled(stage), minutes, measured, began, self.now)
                )
                self.now += timedelta(minutes=stage.wait_minutes + 1)
            takeover.take_over_build(self.owner, propeller, records, now=self.now)
            for stage in stages[len(records) :]:
                self.work_at(propeller, stage, lot)

    def minutes_of(self, stage: Stage) -> int:
        return max(1, round(stage.minutes * self.random.lognormvariate(0.08, 0.22)))

    def skilled(self, stage: Stage) -> BenchPerson:
        able = [p for p in self.people if stage.skill in p.skills]
        return self.random.choice(able)

    def measure(self, m: Measurement, lot: str) -> str:
        """A plausible reading: near the middle of the limits, or the word that must be read."""
        if m.is_text:
            return m.word or lot
        if m.key == "coats":
            return f"{m.low or 3:.0f}"
        usual = {
            "clamp_hours": 16.0,
            "mass": 4.1,
            "moisture": 9.6,
            "temperature": 21.5,
            "bore": 57.2,
            "hole": 10.0,
        }
        if m.low is not None and m.high is not None:
            span = m.high - m.low
            return f"{m.low + span * self.random.uniform(0.3, 0.6):.2f}"
        if m.high is not None:
            return f"{m.high * self.random.uniform(0.2, 0.7):.2f}"
        return f"{usual.get(m.key, 50.0) * self.random.uniform(0.97, 1.03):.2f}"

    def finish(self, order: Order) -> None:
        """Invoice, balance, dispatch."""
        order.refresh_from_db()
        self.later(minutes=30)
        invoice.issue_invoice(self.owner, order, today=self.today, now=self.now)
        self.later(days=self.random.uniform(1, 6))
        self.pay(order, "balance")
        order.refresh_from_db()
        dispatch.dispatch_order(
            self.owner, order, carrier="Marschland Freight (invented)", tracking=f"MF{self.random.randrange(10**8):08d}",
            freight_cost=carrier_asks(order), today=self.today, now=self.now,
        )  # fmt: skip


def carrier_asks(order: Order) -> Money:
    """A plausible carrier's bill: a little dearer than estimated as a rule, the same for the same order each time."""
    lines = [n for n in results_of(order.quote).price.lines if n.category is Category.FREIGHT]
    estimated = total((line.cost for line in lines), order.currency)
    return estimated.times(Decimal(96 + order.pk * 7 % 17) / 100)


def in_hours(moment: datetime) -> datetime:
    """The same moment if the shop is open then, else its next opening."""
    local = timezone.localtime(moment)
    if local.hour >= CLOSES:
        local = (local + timedelta(days=1)).replace(hour=OPENS, minute=5)
    elif local.hour < OPENS:
        local = local.replace(hour=OPENS, minute=5)
    while local.weekday() > 4:
        local = (local + timedelta(days=1)).replace(hour=OPENS, minute=5)
    return local
