"""Keys by which plans and records name people, machines and racks: made of a name, never one that is taken."""

from collections.abc import Collection

from django.utils.text import slugify


def free_key(name: str, taken: Collection[str], *, otherwise: str) -> str:
    """A key like the name that is not among `taken`; begins with `otherwise` where the name gives no letters."""
    base = slugify(name)[:24] or otherwise
    return next(key for n in range(1, 1000) if (key := base if n == 1 else f"{base}-{n}") not in taken)
