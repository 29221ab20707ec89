"""Two shapes for every page that does something: a button that acts, and a form that comes back with all that was typed."""

from collections.abc import Callable
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url

from orders.refusal import Refused

F = TypeVar("F", bound=forms.Form)


def at_field(form: forms.Form, refused: Refused) -> None:
    """Say a refusal at the field it names, or above the form where it names none of its fields."""
    form.add_error(refused.field if refused.field in form.fields else None, refused.message)


def focus(form: forms.Form) -> None:
    """Let the page open at the first field that must be mended."""
    wrong = next((name for name in form.fields if name in form.errors), None)
    if wrong:
        form.fields[wrong].widget.attrs["autofocus"] = True


def do(
    request: HttpRequest,
    action: Callable[[], object],
    said: str,
    where: str,
    *args: object,
    else_where: str = "",
    anchor: str = "",
) -> HttpResponse:
    """Run `action`; on success say `said` and go to `where`, on a refusal say why and go to `else_where` or `where`.

    `anchor` names the part of the page that is looked at next.
    """
    try:
        action()
    except Refused as refused:
        messages.warning(request, refused.message)
        return to(else_where or where, *args, anchor=anchor)
    messages.success(request, said)
    return to(where, *args, anchor=anchor)


def to(where: str, *args: object, anchor: str = "") -> HttpResponse:
    """Go to a part of a page."""
    return redirect(f"{resolve_url(where, *args)}{f'#{anchor}' if anchor else ''}")


def submitted(
    request: HttpRequest,
    form: F,
    action: Callable[[dict[str, Any]], object],
    said: str,
    again: Callable[[F], HttpResponse],
    where: str,
    *args: object,
    anchor: str = "",
) -> HttpResponse:
    """A form that was sent: do it with the cleaned values and go on, or show it `again`, each fault at its field.

    The page shown again opens at the first fault; the one gone on to at `anchor`.
    """
    if form.is_valid():
        try:
            action(form.cleaned_data)
        except Refused as refused:
            at_field(form, refused)
        else:
            messages.success(request, said)
            return to(where, *args, anchor=anchor)
    focus(form)
    return again(form)
