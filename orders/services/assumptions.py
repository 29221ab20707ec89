"""Open questions of a quote and its order: kept at acceptance, answered as assumed or otherwise, in the way of the queue."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from orders.models import Confirmation, Enquiry, Order
from orders.refusal import Refused
from orders.services import audit, exact_dates, letters
from orders.who import Who
from quoting.models import Quote
from quoting.propeller.finding import Severity
from quoting.services.asked import asked
from quoting.services.assumptions import HOLES, HUB, Assumption, assumptions
from quoting.services.catalogue import catalogue
from quoting.services.quotes import results_of, specification_of

C = Confirmation.State


class Word(StrEnum):
    """What may be said on an open question."""

    ASSUMED = "assumed"
    OTHERWISE = "otherwise"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class Said:
    """The word on one question; `typed` are the ask page's fields it fills in where it is otherwise."""

    word: Word
    typed: Mapping[str, str]


Answers = Mapping[str, Said]


def of_quote(quote: Quote) -> tuple[Assumption, ...]:
    """What a quote left open."""
    return assumptions(specification_of(quote), results_of(quote).findings)


def unanswered(order: Order) -> list[Confirmation]:
    """The questions on which the customer has not said a word yet."""
    return list(order.confirmations.filter(state=C.OPEN))


def unconfirmed(order: Order) -> frozenset[str]:
    """The keys of what the customer has not confirmed, or has answered otherwise."""
    return frozenset(order.confirmations.exclude(state=C.CONFIRMED).values_list("key", flat=True))


def keeps_waiting(order: Order) -> bool:
    """Whether a question is open, or answered in a way the accepted quote does not hold."""
    return order.confirmations.exclude(state=C.CONFIRMED).exists()


def is_answered_otherwise(order: Order) -> bool:
    """Whether an answer waits to be taken in by a revision."""
    return order.confirmations.filter(state=C.OTHERWISE).exists()


def keep(who: Who, order: Order, answers: Answers, *, now: datetime) -> None:
    """Keep the questions of the order's quote, with what was said at acceptance; assumes the caller's transaction.

    A question that an earlier quote of the order left open and this one does not is closed as taken in.
    """
    questions = of_quote(order.quote)
    order.confirmations.exclude(key__in=[q.key for q in questions]).exclude(state=C.CONFIRMED).delete()
    for question in questions:
        Confirmation.objects.update_or_create(
            order=order,
            key=question.key,
            defaults={
                "question": question.question,
                "assumed": question.assumed,
                "state": C.OPEN,
                "answer": "",
                "typed": {},
                "decided_name": "",
                "decided_at": None,
            },
        )
    settle(who, order, questions, answers, now=now)


def settle(
    who: Who, order: Order, questions: Iterable[Assumption], answers: Answers, *, now: datetime
) -> None:
    """Write down what was said on the open questions; assumes the caller's transaction."""
    for question in questions:
        said = answers.get(question.key)
        if said is None or said.word is Word.LATER:
            continue
        as_assumed = said.word is Word.ASSUMED
        if as_assumed and not question.assumed:
            raise Refused("nothing-assumed", "Nothing was assumed here: answer it.", field=question.key)
        typed = question.as_typed if as_assumed else said.typed
        words = question.assumed if as_assumed else words_of(said.typed)
        changed = order.confirmations.filter(key=question.key, state=C.OPEN).update(
            state=C.CONFIRMED if as_assumed else C.OTHERWISE,
            answer=words[:300],
            typed=dict(typed),
            decided_name=who.name[:120],
            decided_at=now,
        )
        if changed:
            audit.record(
                who, "answer", f"order {order.number}", now=now,
                after="as assumed" if as_assumed else "otherwise",
                reason=words, detail={"question": question.key},
            )  # fmt: skip


def words_of(typed: Mapping[str, str]) -> str:
    """An answer in a few words: "hole 8, pilot 25"."""
    return ", ".join(f"{name.replace('_', ' ')} {value}" for name, value in typed.items() if value)


def is_otherwise(answers: Answers) -> bool:
    """Whether an answer asks for another propeller than the one quoted."""
    return any(said.word is Word.OTHERWISE for said in answers.values())


def typed_with(
    enquiry: Enquiry, questions: Iterable[Assumption], answers: Answers, earlier: Iterable[Confirmation] = ()
) -> dict[str, Any]:
    """What was typed, with the answers in it. Raises Refused at the field when they make no propeller."""
    questions = list(questions)
    words = {key: said.word for key, said in answers.items()}
    if (
        words.get(HOLES) is Word.OTHERWISE
        and any(q.key == HUB for q in questions)
        and words.get(HUB, Word.LATER) is Word.LATER
    ):
        raise Refused(
            "pattern-first", "Say of the bolt pattern too whether it is yours.", status=400, field=HUB
        )
    typed = dict(enquiry.typed)
    for row in earlier:
        typed |= row.typed
    for question in questions:
        said = answers.get(question.key)
        if said is not None and said.word is Word.ASSUMED:
            typed |= question.as_typed
        elif said is not None and said.word is Word.OTHERWISE:
            typed |= said.typed
    typed = {name: value for name, value in typed.items() if value}
    stops = [f for f in asked(typed, catalogue()).findings if f.severity is Severity.STOP]
    if stops:
        raise Refused(stops[0].code, stops[0].message, status=400, field=stops[0].field)
    return typed


def reopen(who: Who, enquiry: Enquiry, typed: dict[str, Any], answers: Answers, *, now: datetime) -> None:
    """Put an enquiry before the owner again with the answers in it; assumes the caller's transaction."""
    Enquiry.objects.filter(pk=enquiry.pk).update(
        typed=typed, state=Enquiry.State.NEW, question="", changed_at=now
    )
    enquiry.refresh_from_db()
    exact_dates.ask(enquiry, now=now)
    words = "; ".join(
        f"{key}: {words_of(said.typed)}" for key, said in answers.items() if said.word is Word.OTHERWISE
    )
    audit.record(
        who, "answer otherwise", f"enquiry {enquiry.number}", now=now, after=enquiry.state, reason=words
    )
    letters.alert_owner(
        f"Enquiry {enquiry.number} is to be quoted again",
        f"{who.name} answers otherwise than the quote assumed: {words}.",
        now=now,
        about=enquiry,
    )
