"""Forms about a build that went another way: a stage done again or left out, a propeller retired."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.desk.forms import OnPage
from orders.desk.order_forms import SHORT, why
from orders.models import Propeller


class AgainForm(OnPage):
    """Why a stage is opened again."""

    reason = why(_("Why"))


class LeaveOutForm(OnPage):
    """Why a stage is left out."""

    reason = why(_("Why it is left out"))


class RetireForm(OnPage):
    """Why a propeller flies no more."""

    cause = forms.ChoiceField(
        label=_("What became of it"),
        choices=[("", _("choose one")), *Propeller.Retirement.choices],
        error_messages={"required": _("Choose what became of it.")},
    )
    note = forms.CharField(
        label=_("In words (may be empty)"),
        required=False,
        max_length=SHORT,
        widget=forms.Textarea(attrs={"rows": 2}),
    )


def form_of(kind: type[OnPage], form: OnPage | None, offered: bool) -> Any:
    """The form that was sent back, else a fresh one where it is offered."""
    return form if isinstance(form, kind) else kind() if offered else None
