"""Two shapes for every page that does something: a button that acts, and a form that comes back with all that was typed."""

from collections.abc import Callable
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from orders.refusal import Refused

F = TypeVar("F", bound=forms.Form)


def at_field(form: forms.Form, refused: Refused) -> None:
    """Say a refusal at the field it names, or above the form where it names none of its fields."""
    form.add_error(refused.field if refused.field in form.fields else None, refused.message)


def do(
    request: HttpRequest,
    action: Callable[[], object],
    said: str,
    where: str,
    *args: object,
    else_where: str = "",
) -> HttpResponse:
    """Run `action`; on success say `said` and go to `where`, on a refusal say why and go to `else_where` or `where`."""
    try:
        action()
    except Refused as refused:
        messages.warning(request, refused.message)
        return redirect(else_where or where, *args)
    messages.success(request, said)
    return redirect(where, *args)


def submitted(
    request: HttpRequest,
    form: F,
    action: Callable[[dict[str, Any]], object],
    said: str,
    again: Callable[[F], HttpResponse],
    where: str,
    *args: object,
) -> HttpResponse:
    """A form that was sent: do it with the cleaned values and go on, or show it `again`, each fault at its field."""
    if form.is_valid():
        try:
            action(form.cleaned_data)
        except Refused as refused:
            at_field(form, refused)
        else:
            messages.success(request, said)
            return redirect(where, *args)
    return again(form)
