"""The command line answers specifications from a file and works sent quotes again."""

import json
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from quoting.estimate import Estimate, estimate
from quoting.models import Quote
from quoting.pricing.money import Money
from quoting.pricing.reprice import outcome
from quoting.pricing.terms import Discount, Override
from quoting.services import quotes, requoting
from quoting.services.asked import asked
from quoting.services.catalogue import catalogue
from quoting.services.catalogue_load import load_catalogue
from quoting.services.estimating import live_estimate, terms_for
from quoting.services.outlook import latest_outlook
from quoting.services.pricebook import book_of, current_book, draft_from
from quoting.services.repricing import quoted_now, reprice_quotes
from quoting.services.requoting import requote, sent_quotes
from tests.quoting.books import FOLDER, TODAY, set_up_shop

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 9, 14, 9, 0, tzinfo=UTC)
SOUND = {
    "airframe": "piper-j-3c-65",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
    "country": "DE",
}


@pytest.fixture(autouse=True)
def shop() -> None:
    load_catalogue(FOLDER)
    set_up_shop()


def estimated(typed: dict[str, str] = SOUND, **changes: Any) -> Estimate:
    """The estimate under terms the owner has changed."""
    what = asked(typed, catalogue())
    assert what.specification is not None, what.findings
    terms = replace(terms_for(what, today=TODAY), **changes)
    return estimate(what.specification, current_book(TODAY), latest_outlook(NOW), terms, today=TODAY)


def sent(made: Estimate | None = None, copies: int = 1) -> list[Quote]:
    """Quotes as sent: drafted from an estimate and sealed."""
    made = made or estimated()
    sealed = {"issued_at": NOW, "expires_at": NOW + timedelta(days=30), "terms_version": "1"}
    for _ in range(copies):
        draft = quotes.draft_quote(made, typed=SOUND, today=TODAY)
        draft.refresh_from_db()
        seal = quotes.content_hash(draft, **sealed)
        Quote.objects.filter(pk=draft.pk).update(state=Quote.State.SENT, content_hash=seal, **sealed)
    return list(sent_quotes())


def run(*command: str) -> str:
    out = StringIO()
    call_command(*command, stdout=out)
    return out.getvalue()


def file_of(folder: Path, content: Any) -> str:
    path = folder / "asked.json"
    path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
    return str(path)


def test_a_sent_quote_works_out_again() -> None:
    sent()
    assert run("requote", "Q-2026-0001") == "1 identical, 0 explained, 0 unexplained\n"


def test_a_quote_with_all_the_owner_may_change_works_out_again() -> None:
    changes = (Override("timber", "own stock", rate=Decimal("9.5")),)
    spring = Discount("spring", amount=Money(Decimal("40.00"), "EUR"))
    rush = Money(Decimal("120.00"), "EUR")
    sent(estimated(SOUND | {"decal_text": "Nº 7"}, overrides=changes, discount=spring, rush=rush, quantity=3))
    assert run("requote", "--all") == "1 identical, 0 explained, 0 unexplained\n"


def test_under_another_model_version_differences_are_listed_with_their_cause(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made = estimated()
    assert made.assessment.measures is not None
    old = replace(made.assessment, measures=replace(made.assessment.measures, mass=9.9))
    sent(replace(made, assessment=old, model_version="0.9"))
    told = run("requote", "Q-2026-0001")
    assert "mass: 9.9 -> " in told and "(propeller model 0.9, now " in told
    assert told.endswith("0 identical, 1 explained, 0 unexplained\n")


def test_a_difference_nothing_explains_ends_with_an_error() -> None:
    made = estimated()
    work = tuple(replace(s, minutes=s.minutes + 7) if s.stage == "sand" else s for s in made.work)
    sent(replace(made, work=work))
    with pytest.raises(CommandError, match="1 of 1 quotes differ"):
        run("requote", "--all")


def test_what_follows_from_an_explained_difference_is_explained_too() -> None:
    made = estimated()
    assert made.assessment.measures is not None
    old = replace(made.assessment, measures=replace(made.assessment.measures, wood_removed=0.02))
    work = tuple(replace(s, minutes=150) if s.stage == "rough-carve" else s for s in made.work)
    worked = requote(sent(replace(made, assessment=old, work=work, model_version="0.9"))[0])
    assert worked.is_explained
    assert "the measures above" in {d.cause for d in worked.deviations}


def test_an_amount_changed_in_its_column_breaks_the_seal_and_the_totals() -> None:
    quote = sent()[0]
    quote.net_minor += 100
    quote.gross_minor += 100
    assert [d.what for d in requote(quote).deviations] == ["seal", "net in its column", "gross in its column"]


def test_a_number_nobody_was_sent_is_said_so() -> None:
    quotes.draft_quote(estimated(), typed=SOUND, today=TODAY)
    with pytest.raises(CommandError, match="Q-2026-0001"):
        run("requote", "Q-2026-0001")


def test_requote_wants_a_number_or_all() -> None:
    with pytest.raises(CommandError):
        run("requote")


def test_the_command_asks_for_every_revision_of_a_number(monkeypatch: pytest.MonkeyPatch) -> None:
    sent(copies=2)
    seen: list[str] = []
    monkeypatch.setattr(
        "quoting.management.commands.requote.requote",
        lambda quote: seen.append(quote.reference) or requoting.Requoted(quote.reference, ()),
    )
    run("requote", "Q-2026-0002")
    assert seen == ["Q-2026-0002 rev 1"]


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_a_thousand_stored_quotes_come_out_identical() -> None:
    sent(copies=1000)
    assert run("requote", "--all").endswith("1000 identical, 0 explained, 0 unexplained\n")


@pytest.mark.slow
@pytest.mark.timeout(1800)
def test_a_thousand_stored_quotes_are_priced_again_within_ten_seconds() -> None:
    stored = sent(copies=1000)
    draft = book_of(draft_from(stored[0].price_book, "2026-2", {"carve.per_litre": Decimal(9)}))
    began = time.process_time()
    assert len(list(reprice_quotes(stored, draft))) == 1000
    assert time.process_time() - began < 10


def test_stored_quotes_are_priced_again_under_a_draft() -> None:
    stored = sent(copies=3)
    draft = draft_from(stored[0].price_book, "2026-2", {"shop.rate": Decimal(20)})
    found = outcome(reprice_quotes(stored, book_of(draft)), "EUR")
    made = estimated()
    hours = Decimal(sum(s.quantity for s in made.price.lines if s.category == "labour")) if made.price else 0
    assert {d.by_minutes for d in found.differences} == {Money.zero("EUR")}
    assert all(abs(d.change.amount - hours * Decimal("6.6")) <= 1 for d in found.differences if d.change)
    assert len(found.differences) == 3


def test_an_open_enquiry_is_priced_again_from_its_estimate() -> None:
    ready = quoted_now("E-2026-0001", estimated())
    assert ready is not None and ready.price == estimated().price
    assert quoted_now("E-2026-0002", replace(estimated(), price=None)) is None


def test_one_specification_in_a_file_is_answered_as_a_table(tmp_path: Path) -> None:
    told = run("quote", file_of(tmp_path, SOUND), "--on", "2026-09-14")
    price = live_estimate(SOUND, today=TODAY).estimate.price  # type: ignore[union-attr]
    assert price is not None
    assert "72.0 x 44.0 in" in told and str(price.gross) in told and "plan on" in told


def test_many_specifications_in_a_file_are_answered_as_json(tmp_path: Path) -> None:
    told = run(
        "quote",
        file_of(tmp_path, [SOUND, SOUND | {"timber": "true-mahogany"}]),
        "--json",
        "--on",
        "2026-09-14",
    )
    first, second = json.loads(told)
    price = live_estimate(SOUND, today=TODAY).estimate.price  # type: ignore[union-attr]
    assert price is not None
    assert Decimal(first["price"]["gross"]["amount"]) == price.gross.amount
    assert first["typed"] == SOUND and second["measures"]["mass"] < first["measures"]["mass"]


def test_a_field_to_mend_is_named_and_ends_with_an_error(tmp_path: Path) -> None:
    out = StringIO()
    with pytest.raises(CommandError, match="1 of 2 specifications got no price"):
        call_command("quote", file_of(tmp_path, [SOUND, SOUND | {"diameter": "-72"}]), stdout=out)
    assert "stop: diameter:" in out.getvalue()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("{", "Expecting"),
        ("[]", "is wanted"),
        ("[1]", "is wanted"),
        ('{"diameter": NaN}', "NaN is no number"),
        ('{"diameter": "72", "diameter": "74"}', "diameter stands twice"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_a_file_that_holds_no_specification_is_refused(tmp_path: Path, content: str, says: str) -> None:
    with pytest.raises(CommandError, match=says):
        run("quote", file_of(tmp_path, content))


def test_a_file_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="No such file"):
        run("quote", str(tmp_path / "none.json"))
