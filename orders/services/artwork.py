"""Pictures a customer sends: kept as files under names of our own, taken away again when what they belong to is not kept."""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import uuid4

from django.core.files.storage import default_storage

from orders.services.kept_files import kept_if_stored


@contextmanager
def picture_kept(png: bytes | None) -> Iterator[str]:
    """The name under which a picture that has been drawn anew is kept, "" without one; gone when the block fails."""
    with kept_if_stored() as keep:
        yield keep(f"decals/{uuid4().hex}.png", png) if png else ""


def drop_picture(name: str) -> None:
    """Take a picture away."""
    default_storage.delete(name)
