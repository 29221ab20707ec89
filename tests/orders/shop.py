"""An invented shop for tests and the steps of an order, each taken through the services with one clock."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import Group, User

from orders.models import BenchPerson, Enquiry, Machine, Order, Propeller, Rack, Stage, StageType, Workshop
from orders.services import approval, bench, dispatch, enquiry, invoice, payment, quote, release
from orders.services.accepted import build_figures
from orders.services.measurements import measurements
from orders.who import Who, by_link, somebody
from quoting.models import Quote
from quoting.propeller.build import STAGES
from quoting.services.catalogue_load import load_catalogue
from tests.orders.worlds import brought_to
from tests.quoting.books import FOLDER, set_up_shop

MORNING = datetime(2026, 9, 14, 7, 0, tzinfo=UTC)
TYPED = {
    "use": "flight",
    "category": "amateur-built",
    "airframe_name": "One-off of my own",
    "top_speed": "100",
    "speed_unit": "mph",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "wish": "known",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
    "country": "DE",
}
ADDRESS = {
    "name": "Alice Wren",
    "email": "alice@example.org",
    "street": "Field Lane 1",
    "city": "Moor",
    "country": "DE",
}
SKILLS = ["lamination", "carving", "finishing", "balancing", "drilling", "inspection"]


def set_up() -> None:
    """Catalogue, price book, tax table, workshop, people and stages: what a template database holds."""
    load_catalogue(FOLDER)
    set_up_shop()
    Workshop.objects.create(
        name="Test Airscrews", street="Yard 1", postcode="12345", city="Ostermoor", country="DE",
        email="shop@example.org", currency="EUR", timezone="Europe/Berlin", tax_id="DE000", bank_details="IBAN DE00",
    )  # fmt: skip
    for role in ("owner", "bench", "bookkeeper"):
        user = User.objects.create(username=role, email=f"{role}@example.org", first_name=role.capitalize())
        user.groups.add(Group.objects.get_or_create(name=role)[0])
    hooks = Rack.objects.create(key="hooks", name="Hooks", capacity=4)
    saw = Machine.objects.create(key="bandsaw", name="Band saw")
    for position, stage in enumerate(STAGES.values(), start=1):
        StageType.objects.create(
            key=stage.key, name=stage.key, position=position, skill=stage.skill,
            machine=saw if stage.key == "rough-carve" else None, rack=hooks if stage.key == "varnish" else None,
        )  # fmt: skip
    week = [[[480, 960]]] * 5 + [[], []]
    BenchPerson.objects.create(
        key="wes", name="Wes", skills=SKILLS, week=week, user=User.objects.get(username="bench")
    )


def sound(propeller: Propeller, key: str) -> dict[str, Any]:
    """Measurements of a stage that are within their limits."""
    values: dict[str, Any] = {}
    for m in measurements(build_figures(propeller)).get(key, ()):
        if m.is_text:
            values[m.key] = m.word or "L-1"
        elif m.low is not None and m.high is not None:
            values[m.key] = round((m.low + m.high) / 2 if m.low > 0 else m.high / 2, 3)
        else:
            values[m.key] = m.low if m.low is not None else 5.0
    return values


@dataclass
class Shop:
    """The shop of one test. `now` is its clock; each step moves it on a little."""

    vendor: str = "sqlite"
    database: dict[str, Any] = field(default_factory=dict)
    now: datetime = MORNING
    typed: dict[str, Any] = field(default_factory=lambda: dict(TYPED))

    @property
    def today(self) -> date:
        return self.now.date()

    def later(self, **delta: float) -> datetime:
        self.now += timedelta(**delta)
        return self.now

    @property
    def owner(self) -> Who:
        return somebody(User.objects.get(username="owner"))

    @property
    def at_bench(self) -> Who:
        return somebody(User.objects.get(username="bench"))

    @property
    def bookkeeper(self) -> Who:
        return somebody(User.objects.get(username="bookkeeper"))

    @property
    def wes(self) -> BenchPerson:
        return BenchPerson.objects.get(key="wes")

    def enquiry(self, **typed: str) -> Enquiry:
        return enquiry.store_enquiry(
            by_link("Alice Wren"), typed={**self.typed, **typed}, specification=None, estimate=None,
            address=ADDRESS, language="en", now=self.now,
        )  # fmt: skip

    def sent_quote(self, review: quote.Review = quote.NO_CHANGES, **typed: str) -> Quote:
        draft = quote.prepare_quote(self.owner, self.enquiry(**typed), review, today=self.today, now=self.now)
        return quote.send_quote(self.owner, draft, now=self.now)

    def revised(self) -> Enquiry:
        """An enquiry whose quote was sent, and sent again with another word."""
        row = self.enquiry()
        for message in ("", "With the longer crate"):
            draft = quote.prepare_quote(
                self.owner, row, quote.Review(message=message), today=self.today, now=self.now
            )
            quote.send_quote(self.owner, draft, now=self.now)
            row.refresh_from_db()
        return row

    def accept(self, sent: Quote, name: str = "Alice Wren") -> Order:
        return quote.accept_quote(
            sent.token, seen=sent.content_hash, terms_version=sent.terms_version, name=name, now=self.now
        )

    def order(self, **typed: str) -> Order:
        return self.accept(self.sent_quote(**typed))

    def pay(self, order: Order, kind: str = "deposit") -> None:
        request = order.payment_requests.get(kind=kind)
        payment.record_bank_transfer(
            self.bookkeeper, request, request.open, bank_reference=f"B-{request.reference}",
            received_on=self.today, today=self.today, now=self.now,
        )  # fmt: skip

    def approve(self, order: Order, kind: str) -> None:
        asked = order.approvals.get(kind=kind, state="asked")
        approval.approve(by_link("Alice Wren"), asked, seen=asked.shown_hash, now=self.now)

    def brought(self, state: str, build: Callable[..., Order], typed: dict[str, str]) -> Order:
        """An order in a state, from a copy kept of it when nothing else is asked for."""
        if typed or self.typed != TYPED:
            return build(**typed)
        order, self.now = brought_to(state, self.now, lambda: (build(), self.now))
        return order

    def queued(self, **typed: str) -> Order:
        return self.brought("queued", self.build_queued, typed)

    def ready(self, **typed: str) -> Order:
        return self.brought("ready", self.build_ready, typed)

    def dispatched(self, **typed: str) -> Order:
        return self.brought("dispatched", self.build_dispatched, typed)

    def build_queued(self, **typed: str) -> Order:
        order = self.order(**typed)
        self.pay(order)
        self.approve(order, "drawing")
        order.refresh_from_db()
        return order

    def do(self, stage: Stage, note: str = "", **values: Any) -> bench.Recorded:
        self.later(days=12)
        return bench.record_stage(
            self.at_bench, stage, self.wes, minutes=30,
            measurements={**sound(stage.propeller, stage.key), **values}, note=note, now=self.now,
        )  # fmt: skip

    def build(self, order: Order, until: str = "inspect") -> Propeller:
        """Do every stage before `until` on the order's first propeller."""
        propeller = order.propellers.get(position=1)
        for stage in propeller.stages.order_by("position"):
            if stage.key == until:
                break
            assert self.do(stage).is_done
        return propeller

    def release(self, propeller: Propeller) -> tuple[Any, ...]:
        self.later(days=1)
        return release.inspect_and_release(
            self.at_bench,
            propeller,
            self.wes,
            minutes=20,
            measurements=sound(propeller, "inspect"),
            now=self.now,
        )

    def build_ready(self, **typed: str) -> Order:
        order = self.build_queued(**typed)
        self.approve(order, "mock-up")
        propeller = self.build(order)
        assert not [f for f in self.release(propeller) if f.severity == "stop"]
        order.refresh_from_db()
        return order

    def build_dispatched(self, **typed: str) -> Order:
        order = self.build_ready(**typed)
        self.do(order.propellers.get().stages.get(key="crate"))
        invoice.issue_invoice(self.owner, order, today=self.today, now=self.now)
        self.pay(order, "balance")
        return dispatch.dispatch_order(
            self.owner, order, carrier="Road haulage", today=self.today, now=self.now
        )
