"""Pictures a customer sends: kept as files under names of our own, taken away again when what they belong to is not kept."""

from uuid import uuid4

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage


def keep_picture(png: bytes) -> str:
    """Store a picture that has been drawn anew; the name under which it is kept."""
    return default_storage.save(f"decals/{uuid4().hex}.png", ContentFile(png))


def drop_picture(name: str) -> None:
    """Take a picture away."""
    default_storage.delete(name)
