"""Drawing, templates and solid of a quote: asked for here, made by the worker (drawn_files.py, the heavy part)."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from orders.models import Document, OutboxJob
from orders.refusal import Refused
from orders.services import outbox
from quoting.models import Quote
from quoting.services.engineering import assessed
from quoting.services.quotes import specification_of

JOB = "draw-propeller"
K = Document.Kind
VARIANTS: dict[str, tuple[str, ...]] = {
    K.DRAWING: ("in", "mm"),
    K.DRILL_TEMPLATE: ("A4", "Letter"),
    K.DRILL_DXF: ("",),
    K.STATION_TEMPLATE: ("in, A4", "in, Letter", "mm, A4"),
    K.STATION_DXF: ("in", "mm"),
    K.SOLID: ("",),
    K.MOCK_UP: ("",),
}
"""What is made of each kind: stations and sizes in inches or millimetres, paper for templates."""


@dataclass(frozen=True, slots=True)
class Standing:
    """Which files there are, and the job that makes more: since when it waits or runs, or how it failed.

    `complete` when the last job is done: what then is missing cannot be made.
    """

    files: tuple[Document, ...]
    asked_at: datetime | None
    failed: str
    complete: bool

    def of(self, kind: str) -> tuple[Document, ...]:
        return tuple(file for file in self.files if file.kind == kind)

    @property
    def being_made(self) -> bool:
        return self.asked_at is not None

    @property
    def as_of(self) -> datetime | None:
        return max((file.made_at for file in self.files), default=None)


def subject(quote: Quote, variant: str) -> str:
    """What a file is of: the quote's reference and which variant."""
    return f"{quote.reference} {variant}".strip()


def ask_for(quote: Quote, *, now: datetime) -> OutboxJob:
    """Have everything drawn of a quote; assumes the caller's transaction. Asked twice is made once."""
    about = f"quote {quote.pk}"
    return outbox.enqueue(JOB, {"quote": quote.pk}, now=now, debounce=about, subject=about)


@transaction.atomic
def ask_again(quote: Quote, *, now: datetime) -> OutboxJob:
    """Somebody wants it: draw what is not drawn yet. Raises Refused when there is no geometry to draw."""
    if not assessed(specification_of(quote)).can_be_made:
        raise Refused("no-geometry", "There is no geometry to draw; the findings say why.")
    return ask_for(quote, now=now)


def standing(quote: Quote) -> Standing:
    """The files of a quote's propeller, and whether more are being made."""
    files = tuple(Document.objects.filter(quote=quote, kind__in=VARIANTS).order_by("kind", "subject"))
    job = OutboxJob.objects.filter(kind=JOB, subject=f"quote {quote.pk}").order_by("-id").first()
    S = OutboxJob.State
    done = job is not None and job.state == S.DONE
    asked_at = job.created_at if job and job.state in (S.WAITING, S.RUNNING) else None
    failed = job.last_error if job and job.state == S.DEAD else ""
    return Standing(files, asked_at, failed, complete=done and bool(files))
