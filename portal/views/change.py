"""Take one's own enquiry up again by its link and change it, while no quote is out."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from orders import access
from orders.models import Enquiry
from orders.services.artwork import drop_picture, picture_kept
from orders.services.enquiry import change_enquiry
from portal.forms.ask import AskForm, PropellerForm
from portal.limits import held_back, typing_too_fast
from portal.views.ask import LOOKING, asked_too_fast, looked, page, typed_whole
from portal.views.who import holder
from quoting.services.answers import kept
from quoting.services.catalogue import catalogue
from quoting.services.estimating import Answer, live_estimate
from quoting.services.serial import unstructured


def change(request: HttpRequest, token: str) -> HttpResponse:
    """The ask page filled in with what was asked; sent again, it takes the enquiry's place."""
    enquiry = access.by_token(Enquiry, token)
    if not enquiry.is_open:
        messages.warning(request, _("This enquiry is answered; it cannot be changed any more."))
        return redirect("portal:enquiry", token=token)
    offered = catalogue()
    if request.method == "POST" and typing_too_fast(request):
        return asked_too_fast(request, offered, enquiry)
    if request.method == "POST" and LOOKING & request.POST.keys():
        return looked(request, offered, enquiry)
    if request.method != "POST":
        typed = {**enquiry.address, **enquiry.typed}
        answer = live_estimate(PropellerForm(typed, catalogue=offered).typed(), today=timezone.localdate())
        return page(
            request,
            with_email_kept(AskForm(initial=typed, catalogue=offered)),
            offered,
            answer,
            enquiry=enquiry,
        )
    form = with_email_kept(AskForm(request.POST, request.FILES, initial=enquiry.address, catalogue=offered))
    answer = live_estimate(form.typed(), today=timezone.localdate())
    if answer.specification is None:
        form.show(answer.wrong)
    if not form.is_valid():
        return page(request, form, offered, answer, status=422, enquiry=enquiry)
    if held_back(request, form, None, "link", token):
        return page(request, form, offered, answer, status=429, enquiry=enquiry)
    put_in_place(request, enquiry, form, answer)
    messages.success(request, _("Your enquiry is changed; the workshop sees it as it stands now."))
    return redirect("portal:enquiry", token=token)


def with_email_kept(form: AskForm) -> AskForm:
    """The form with its address shown and not to be changed: the link that leads here was sent to it."""
    form.fields["email"].disabled = True
    return form


def put_in_place(request: HttpRequest, enquiry: Enquiry, form: AskForm, answer: Answer) -> None:
    """Store the change; a new picture takes the old one's place, without one the old stays."""
    before = enquiry.typed.get("decal_picture", "")
    with picture_kept(form.cleaned_data["decal_picture"]) as file:
        change_enquiry(
            holder(request, form.cleaned_data["name"]),
            enquiry,
            typed=typed_whole(form, answer, file or before),
            specification=unstructured(answer.specification),
            estimate=kept(answer),
            address=form.address(),
            now=timezone.now(),
        )
    if file and before:
        drop_picture(before)
