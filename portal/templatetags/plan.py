"""How the plan stands on a page: clock times, and names looked up by their keys."""

from collections.abc import Mapping, Sequence

from django import template

from orders.services.planned import Stretch

register = template.Library()


@register.filter
def clock_time(minute: int) -> str:
    """A minute of the day as the clock shows it: 570 gives 09:30."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


@register.filter
def of(key: str | None, names: Mapping[str, str]) -> str:
    """The name of a key: `{{ work.person|of:names }}`; the key itself where it has none."""
    return names.get(key or "", key or "")


@register.filter
def instead_of(work: Sequence[Stretch], barred: Stretch) -> Stretch | None:
    """What can be done that day in place of a stretch that may not be begun: the next that is free, else an earlier."""
    free = [entry for entry in work if entry.is_free]
    return next((entry for entry in free if entry.begin > barred.begin), free[-1] if free else None)
