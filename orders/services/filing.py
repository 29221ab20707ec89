"""Files kept once: one per kind and subject, whoever makes it first, with the fingerprint of its bytes."""

import hashlib
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from orders.models import Document
from orders.services.kept_files import kept_if_stored


def filed(kind: str, subject: str) -> Document | None:
    """The file of a subject, if there is one."""
    return Document.objects.filter(kind=kind, subject=subject).first()


def keep(kind: str, subject: str, content: bytes, **belongs: Any) -> Document:
    """File the bytes; when another has filed the same subject meanwhile, theirs stands."""
    document = Document(
        kind=kind,
        subject=subject,
        sha256=hashlib.sha256(content).hexdigest(),
        made_at=timezone.now(),
        **belongs,
    )
    try:
        with kept_if_stored() as keep_file, transaction.atomic():
            document.file = keep_file(f"papers/{document.file_name}", content)
            document.save()
    except IntegrityError:
        return Document.objects.get(kind=kind, subject=subject)
    return document
