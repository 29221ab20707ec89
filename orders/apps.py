"""The orders application: from enquiry to dispatch and the books."""

from django.apps import AppConfig


class OrdersConfig(AppConfig):
    name = "orders"
    default_auto_field = "django.db.models.BigAutoField"
