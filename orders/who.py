"""Who does something: the name for the record, the signed-in user if any, and the roles that allow it."""

from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User

from orders.refusal import Refused

OWNER, BENCH, BOOKKEEPER = "owner", "bench", "bookkeeper"


@dataclass(frozen=True, slots=True)
class Who:
    """The actor of a service call. A customer by link has a name and no user; the service itself has neither."""

    name: str
    user: User | None = None
    roles: frozenset[str] = frozenset()

    def must_be(self, *roles: str) -> None:
        """Raise Refused (403) unless the actor has one of the roles."""
        if not self.roles & set(roles):
            raise Refused("not-allowed", f"Only {' or '.join(roles)} may do this.", status=403)


THE_SERVICE = Who("the service", roles=frozenset({OWNER, BENCH, BOOKKEEPER}))
"""The worker acting on its own: payments arriving, quotes lapsing, plans."""


def somebody(user: Any) -> Who:
    """The actor of a signed-in `User`: groups are roles, a superuser is the owner."""
    roles = set(user.groups.values_list("name", flat=True))
    if user.is_superuser:
        roles |= {OWNER, BENCH, BOOKKEEPER}
    return Who(user.get_full_name() or user.get_username(), user, frozenset(roles))


def by_link(name: str) -> Who:
    """Somebody who holds a secret link and gives a name."""
    return Who(name)
