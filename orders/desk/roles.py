"""Who may open which page of the desk: the owner all, bench its work and the register, bookkeeper the books."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from orders.who import OWNER, somebody

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]


def open_to(*roles: str) -> Callable[[View[P]], View[P]]:
    """Let in the named roles and the owner; ask everybody else to sign in, or refuse."""

    def decorate(view: View[P]) -> View[P]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not somebody(request.user).roles & {OWNER, *roles}:
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return guarded

    return decorate
