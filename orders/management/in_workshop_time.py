"""Commands about the workshop: they count days as it does."""

from typing import Any

from django.core.management.base import BaseCommand

from orders.services.workshop_time import workshop_time


class WorkshopCommand(BaseCommand):
    """A command that runs in the workshop's time zone."""

    def execute(self, *args: Any, **options: Any) -> str | None:
        with workshop_time():
            return super().execute(*args, **options)
