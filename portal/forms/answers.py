"""The form of the open questions of a quote: as assumed, otherwise, or later; each otherwise with the figures it needs."""

from collections.abc import Iterable, Iterator
from copy import deepcopy
from typing import Any, cast

from django import forms
from django.forms.boundfield import BoundField
from django.utils.translation import gettext as _

from orders.services.assumptions import Said, Word
from portal.forms.ask import HANDS, PropellerForm
from quoting.propeller.catalogue import Hand
from quoting.services.assumptions import HAND, HOLES, TIMBER, Assumption
from quoting.services.catalogue import catalogue

LENGTHS = ("circle", "hole", "pilot")


class AnswersForm(forms.Form):
    """One choice a question. `unit` is that of the lengths in the enquiry; `later` offers to answer after ordering."""

    def __init__(
        self, data: Any = None, *, questions: Iterable[Assumption], unit: str, later: bool, **more: Any
    ) -> None:
        super().__init__(data, prefix="answer", **more)
        self.questions = tuple(questions)
        offered = PropellerForm(catalogue=catalogue()).fields
        for question in self.questions:
            self.fields[question.key] = forms.ChoiceField(
                label=question.question,
                help_text=question.help,
                choices=list(_choices(question, later=later)),
                widget=forms.RadioSelect,
                error_messages={"required": _("Choose one.")},
            )
            for name in question.fields:
                field = deepcopy(offered[name])
                field.required = False
                if isinstance(field, forms.ChoiceField):
                    given = cast(Iterable[tuple[str, Any]], field.choices)
                    listed = [(code, words) for code, words in given if code]
                    field = forms.ChoiceField(
                        label=field.label, choices=[("", _("Choose")), *listed], required=False
                    )
                if name in LENGTHS:
                    field.label = f"{field.label}, {unit}"
                    field.help_text = ""
                self.fields[f"{question.key}-{name}"] = field

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for question in self.questions:
            if cleaned.get(question.key) != Word.OTHERWISE or question.otherwise:
                continue
            if not any(cleaned.get(f"{question.key}-{name}", "").strip() for name in question.fields):
                self.add_error(f"{question.key}-{question.fields[0]}", _("Say what it is instead."))
        return cleaned

    @property
    def answers(self) -> dict[str, Said]:
        """What was said, by the key of the question."""
        return {q.key: Said(Word(self.cleaned_data[q.key]), self._typed(q)) for q in self.questions}

    def _typed(self, question: Assumption) -> dict[str, str]:
        if question.otherwise:
            return dict(question.otherwise)
        named = {name: self.cleaned_data[f"{question.key}-{name}"].strip() for name in question.fields}
        return {name: text for name, text in named.items() if text}

    def refuse(self, field: str, message: str) -> None:
        """Show a refusal at the field it names: a question's key, or a field of the ask page."""
        places = [n for n in self.fields if field and (n == field or n.partition("-")[2] == field)]
        answered = [n for n in places if self.data.get(self.add_prefix(n), "").strip()]
        self.add_error(next(iter([*answered, *places]), None), message)

    def asked(self) -> Iterator[tuple[BoundField, list[BoundField]]]:
        """Each question with the fields that go with its other answer."""
        for question in self.questions:
            yield self[question.key], [self[f"{question.key}-{name}"] for name in question.fields]


def _choices(question: Assumption, *, later: bool) -> Iterator[tuple[str, str]]:
    if question.assumed:
        said = _("As assumed, I have looked: %(assumed)s")
        if question.key == TIMBER:
            said = _("As assumed: %(assumed)s")
        yield Word.ASSUMED, said % {"assumed": question.assumed}
    if question.key == HAND:
        yield Word.OTHERWISE, str(HANDS[Hand(question.otherwise[HAND])])
    elif question.key == HOLES:
        yield Word.OTHERWISE, _("As measured here")
    else:
        yield Word.OTHERWISE, _("Otherwise, as said here")
    if later:
        yield Word.LATER, _("I answer later; the work waits for it")
