"""One way to do something from a page: call the service, say what came of it, go where the result shows."""

from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from orders.refusal import Refused


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
