"""What the bench teaches the price book: recorded against estimated minutes, and coefficients the owner may draft from."""

from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from orders.bias import bias_svg
from orders.desk.doing import submitted
from orders.desk.roles import open_to
from orders.models import StageType
from orders.services import pricebook as books
from orders.services.lessons import freight_lessons, lessons_for
from orders.who import somebody
from quoting.models import PriceBookVersion
from quoting.pricing.book import PriceBook
from quoting.pricing.learning import SIZES, Lessons, Proposal
from quoting.services.pricebook import NoPriceBook, current_book

BY = {
    "stage": gettext_lazy("By stage"),
    "timber": gettext_lazy("By timber"),
    "size": gettext_lazy("By size"),
}


class ProposalsForm(forms.Form):
    """The proposals that go into a draft, and into which."""

    keys = forms.MultipleChoiceField(
        label=gettext_lazy("Proposals to draft"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Tick at least one proposal.")},
    )
    into = forms.ChoiceField(label=gettext_lazy("Put them into"))

    def __init__(self, *args: Any, proposals: tuple[Proposal, ...], **more: Any) -> None:
        super().__init__(*args, **more)
        self.proposals = {p.key: p for p in proposals}
        self.fields["keys"].choices = [(key, key) for key in self.proposals]  # type: ignore[attr-defined]
        drafts = PriceBookVersion.objects.filter(state=PriceBookVersion.State.DRAFT)
        self.fields["into"].choices = [  # type: ignore[attr-defined]
            ("new", _("a new draft")),
            *((str(d.pk), _("the draft %(version)s") % {"version": d.version}) for d in drafts),
        ]

    @property
    def ticked(self) -> set[str]:
        """Keys that are ticked as the form stands."""
        return set(self["keys"].value() or ())

    def values(self) -> dict[str, Decimal]:
        return {key: self.proposals[key].proposed for key in self.cleaned_data["keys"]}


def book_in_force() -> PriceBook | None:
    try:
        return current_book(timezone.localdate())
    except NoPriceBook:
        return None


@open_to()
def learning(request: HttpRequest) -> HttpResponse:
    """Bias by stage, timber and size, and proposals."""
    return page(request)


def page(request: HttpRequest, form: ProposalsForm | None = None, status: int = 200) -> HttpResponse:
    book = book_in_force()
    if book is None:
        return redirect("desk:price-books")
    found = lessons_for(book)
    context = {
        "book": book,
        "found": found,
        "now": timezone.now(),
        "groups": groups_of(found),
        "records": sum(b.count for b in found.biases if b.by == "stage"),
        "form": form or ProposalsForm(proposals=found.proposals),
        "proposals": found.proposals,
        "freight": freight_lessons(),
    }
    return render(request, "desk/learning.html", context, status=status)


def groups_of(found: Lessons) -> list[tuple[str, Any, list[Any]]]:
    """Heading, picture and rows of each grouping; stages in the order of the build."""
    place = {
        key: n for n, key in enumerate(StageType.objects.order_by("position").values_list("key", flat=True))
    }
    sizes = [name for _limit, name in SIZES]
    groups = []
    for by, heading in BY.items():
        rows = [b for b in found.biases if b.by == by]
        if by == "stage":
            rows.sort(key=lambda b: place.get(b.group, len(place)))
        if by == "size":
            rows.sort(key=lambda b: sizes.index(b.group))
        if rows:
            drawn = bias_svg(rows, str(heading), f"bias-{by}")
            groups.append((str(heading), mark_safe(drawn), rows))  # noqa: S308 -- figures and catalogue codes, escaped
    return groups


@require_POST
@open_to()
def draft(request: HttpRequest) -> HttpResponse:
    """Put ticked proposals into a draft; nothing is in force by that."""
    book = book_in_force()
    if book is None:
        return redirect("desk:price-books")
    form = ProposalsForm(request.POST, proposals=lessons_for(book).proposals)
    made: list[int] = []

    def put(given: dict[str, Any]) -> None:
        who, now = somebody(request.user), timezone.now()
        if given["into"] == "new":
            remark = _("From recorded minutes")
            made.append(
                books.draft(who, today=timezone.localdate(), now=now, values=form.values(), remark=remark).pk
            )
        else:
            row = PriceBookVersion.objects.get(pk=given["into"])
            books.change(who, row, form.values(), now=now)
            made.append(row.pk)

    answer = submitted(
        request, form, put, _("The proposals are in the draft; see what they change before it is put in force."),
        lambda form: page(request, form, status=422), "desk:price-books",
    )  # fmt: skip
    return redirect("desk:price-book", made[0]) if made else answer
