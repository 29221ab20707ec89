"""Who acts on a page reached by a secret link."""

from django.http import HttpRequest

from orders.who import Who, by_link, somebody


def holder(request: HttpRequest, name: str) -> Who:
    """Whoever is signed in; else the holder of the link, by the name given or known."""
    return somebody(request.user) if request.user.is_authenticated else by_link(name)
