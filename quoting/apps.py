"""The quoting application: catalogue, price books and quotes as stored results."""

from django.apps import AppConfig


class QuotingConfig(AppConfig):
    name = "quoting"
    default_auto_field = "django.db.models.BigAutoField"
