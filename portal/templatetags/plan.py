"""How the plan stands on a page: clock times, and names looked up by their keys."""

from collections.abc import Mapping

from django import template

register = template.Library()


@register.filter
def clock_time(minute: int) -> str:
    """A minute of the day as the clock shows it: 570 gives 09:30."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


@register.filter
def of(key: str | None, names: Mapping[str, str]) -> str:
    """The name of a key: `{{ work.person|of:names }}`; the key itself where it has none."""
    return names.get(key or "", key or "")
