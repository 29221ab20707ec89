"""Short forms of words: accept, decline, answer, message, approve."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise as Words
else:
    Words = str
LONGEST_NAME = 120
LONGEST_TEXT = 5000


def words(label: Words, *, required: Words, help_text: Words = "", rows: int = 4) -> forms.CharField:
    """A text of some lines; `required` is what is said when it is empty."""
    return forms.CharField(
        label=label,
        help_text=help_text,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": rows}),
        error_messages={
            "required": required,
            "max_length": _("At most %(limit_value)d characters, please; it has %(show_value)d."),
        },
    )


def full_name(value: str) -> None:
    """Refuse what cannot be a name: fewer than two letters."""
    if sum(c.isalpha() for c in value) < 2:
        raise forms.ValidationError(_("Write your name in full: it is kept with your answer."))


def name_field(*, required: bool = True) -> forms.CharField:
    """The name that goes with a decision."""
    return forms.CharField(
        label=_("Your full name"),
        max_length=LONGEST_NAME,
        required=required,
        validators=[full_name],
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
        error_messages={
            "required": _("Write your name: it is kept with your answer."),
            "max_length": _("At most %(limit_value)d characters, please; it has %(show_value)d."),
        },
    )


class AcceptForm(forms.Form):
    """Accepting a quote: a name, the terms, and the hash of what was on the screen."""

    name = name_field()
    terms = forms.BooleanField(
        label=_("I have read the terms and order this propeller."),
        error_messages={"required": _("Tick this to order: the terms are part of the order.")},
    )
    content_hash = forms.CharField(widget=forms.HiddenInput, max_length=64)
    terms_version = forms.CharField(widget=forms.HiddenInput, max_length=20)


class DeclineForm(forms.Form):
    """Declining a quote, with a reason that helps the workshop."""

    name = name_field()
    reason = words(_("Why not"), required=_("A few words are enough."), rows=3)


class MessageForm(forms.Form):
    """One message to the workshop."""

    body = words(_("Write to the workshop"), required=_("Write something first."))


class AnswerForm(forms.Form):
    """The answer to what the workshop asked."""

    text = words(_("Your answer"), required=_("Write your answer."))


class ApprovalForm(forms.Form):
    """Approve a picture under one's name, or want changes with numbered remarks; the two exclude each other."""

    REMARKS = 6

    name = name_field(required=False)
    shown_hash = forms.CharField(widget=forms.HiddenInput, max_length=64)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, self.REMARKS + 1):
            self.fields[f"remark_{number}"] = forms.CharField(
                label=_("Remark %(number)d") % {"number": number},
                required=False,
                max_length=2000,
                widget=forms.Textarea(attrs={"rows": 2}),
                error_messages={
                    "max_length": _("At most %(limit_value)d characters, please; it has %(show_value)d.")
                },
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        written = [n for n in self._numbers if cleaned.get(f"remark_{n}")]
        if self.wants_changes:
            # whoever sends remarks signs with the name the order was accepted under
            self.errors.pop("name", None)
            if not written and not self.errors:
                self.add_error("remark_1", _("Write at least one remark, so that we know what to change."))
            return cleaned
        if not cleaned.get("name") and "name" not in self.errors:
            self.add_error("name", self.fields["name"].error_messages["required"])
        for number in written:
            self.add_error(f"remark_{number}", _("You wrote a remark: send it, or clear it and approve."))
        return cleaned

    @property
    def _numbers(self) -> range:
        return range(1, self.REMARKS + 1)

    @property
    def wants_changes(self) -> bool:
        """Whether the remarks were sent, not the approval."""
        return self.data.get("decision") == "change"

    @property
    def remarks(self) -> list[dict[str, Any]]:
        """What was written, in order, as the approval stores it."""
        texts = (self.cleaned_data.get(f"remark_{n}", "") for n in self._numbers)
        return [{"text": text} for text in texts if text]
