"""The orders application: from enquiry to dispatch and the books."""

from django.apps import AppConfig
from django.db.backends.signals import connection_created

from orders.checks import read_pragmas_back


class OrdersConfig(AppConfig):
    name = "orders"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """See that each database file runs as safely as the settings say, on its first connection."""
        connection_created.connect(read_pragmas_back, dispatch_uid="read-pragmas-back")
