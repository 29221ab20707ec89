"""The portal application: the customers' doors."""

from typing import Any

from django.apps import AppConfig, apps
from django.core.management import call_command
from django.db.models.signals import post_migrate


class PortalConfig(AppConfig):
    name = "portal"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Limits are counted in a table of the cache's own; it is made with the others."""
        orders = apps.get_app_config("orders")  # only an application with models is told of
        post_migrate.connect(make_cache_table, sender=orders, dispatch_uid="make-cache-table")


def make_cache_table(using: str, **_: Any) -> None:
    """After migrating: make the table of the shared cache where it is missing."""
    call_command("createcachetable", database=using, verbosity=0)
