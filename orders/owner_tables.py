"""The owner's role in the words of Django's admin: every table is open, and each says itself whether it can be edited."""

from typing import Any

from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.models import AnonymousUser, User
from django.db.models import Model

from orders.who import OWNER, somebody


class OwnerOpensTables(BaseBackend):
    """Grants whoever has the owner's role the permissions that the admin asks for; signs nobody in."""

    def has_perm(self, user_obj: User | AnonymousUser, perm: str, obj: Model | None = None) -> bool:
        return self._is_owner(user_obj)

    def has_module_perms(self, user_obj: User | AnonymousUser, app_label: str) -> bool:
        return self._is_owner(user_obj)

    def _is_owner(self, user: Any) -> bool:
        """Asked for many tables of one page, and read once."""
        if not user.is_active:
            return False
        if not hasattr(user, "_is_owner"):
            user._is_owner = OWNER in somebody(user).roles
        return bool(user._is_owner)
