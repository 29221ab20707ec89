"""Files kept once: one per kind and subject, whoever makes it first, with the fingerprint of its bytes."""

import hashlib
from typing import Any

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from orders.models import Document


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
    document.file.save(document.file_name, ContentFile(content), save=False)
    try:
        with transaction.atomic():
            document.save()
    except IntegrityError:
        document.file.delete(save=False)
        return Document.objects.get(kind=kind, subject=subject)
    return document
