"""Sign-in by a mailed code: the mail goes through the outbox like every other, and a customer needs no prior account."""

from typing import Any, cast

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.forms import RequestLoginCodeForm
from django.conf import settings
from django.db import transaction
from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from orders.services import mail, sign_in
from orders.who import BENCH, BOOKKEEPER, OWNER, somebody
from portal.context import workshop_name


class MailedThroughOutbox(DefaultAccountAdapter):  # type: ignore[misc]
    """allauth's adapter whose mails become outbox rows, so that a lost mail server loses nothing."""

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        words = {
            "request": self.request,
            "email": email,
            "workshop_name": workshop_name(self.request),
            "ask_url": f"{settings.BASE_URL}{reverse('portal:ask')}",
        }
        message = self.render_mail(template_prefix, email, context | words)
        with transaction.atomic():
            mail.write("sign-in", email, message.subject, message.body, now=timezone.now())

    def format_email_subject(self, subject: str) -> str:
        """The subject as its template writes it, without a site's name before it."""
        return subject

    def get_client_ip(self, request: HttpRequest) -> str:
        """The address that limits count by, reckoned as for the API: settings.PROXIES says whose word is taken."""
        return str(BaseThrottle().get_ident(cast(Request, request)))[:45]

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Nobody opens an account: asking for a propeller is enough."""
        return False

    def get_login_redirect_url(self, request: HttpRequest) -> str:
        roles = somebody(request.user).roles
        if OWNER in roles:
            return reverse("desk:morning")
        if BENCH in roles:
            return reverse("desk:bench")
        if BOOKKEEPER in roles:
            return reverse("desk:books")
        return reverse("portal:mine")


class AskForCode(RequestLoginCodeForm):  # type: ignore[misc]
    """The form that asks for a code: whoever has asked for a propeller with this address may sign in with it."""

    def clean_email(self) -> str:
        address = self.cleaned_data["email"]
        if address:
            sign_in.let_sign_in(address)
        return str(super().clean_email())
