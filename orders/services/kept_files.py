"""Files written beside rows: they stay only when what they belong to is stored."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage


@contextmanager
def kept_if_stored() -> Iterator[Callable[[str, bytes], str]]:
    """Inside, `keep(name, content)` stores a file and tells the name it has; an exception takes every one away again.

    It stands around the transaction that stores the rows, so that nothing is left of one that was rolled back.
    """
    kept: list[str] = []

    def keep(name: str, content: bytes) -> str:
        kept.append(default_storage.save(name, ContentFile(content)))
        return kept[-1]

    try:
        yield keep
    except BaseException:
        for name in kept:
            default_storage.delete(name)
        raise
