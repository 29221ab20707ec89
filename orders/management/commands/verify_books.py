"""`manage.py verify_books`: prove that the books balance, chain and tie out."""

from typing import Any

from django.core.management.base import CommandError

from orders.management.in_workshop_time import WorkshopCommand
from orders.models import JournalEntry
from orders.services.verify import faults


class Command(WorkshopCommand):
    help = "Check balance, digest chain, number series and ties of the books; any fault is named and ends in an error."

    def handle(self, *args: Any, **options: Any) -> None:
        found = list(faults())
        for fault in found:
            self.stderr.write(fault)
        if found:
            raise CommandError(f"{len(found)} faults in the books")
        self.stdout.write(f"{JournalEntry.objects.count()} entries: balanced, chained, tied out")
