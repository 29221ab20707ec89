"""The workshop's own time zone as the current one: its days, not the machine's, are those of papers, books and promises."""

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager

from django.utils import timezone

from orders.models import Workshop


def in_zone_of(workshop: Workshop | None) -> AbstractContextManager[None]:
    """The zone of a workshop that was read already; the settings' own while there is none."""
    return timezone.override(workshop.zone if workshop else None)


@contextmanager
def workshop_time() -> Iterator[None]:
    """The zone as it is now; one query."""
    with in_zone_of(Workshop.objects.only("timezone").first()):
        yield
