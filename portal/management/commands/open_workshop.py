"""Open an empty, real workshop: its entry, the owner's sign-in, the usual stages, a first price book to redraft."""

import argparse
import getpass
import json
from typing import Any

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email
from django.db import transaction
from django.utils import timezone

from orders.refusal import Refused
from orders.services import opening
from quoting.propeller.build import SKILLS

FOLDER = settings.BASE_DIR / "fixtures" / "start"


def typed_password() -> str:
    """The password as typed at a terminal; raises CommandError where there is none."""
    try:
        return getpass.getpass("A password for the owner: ")
    except EOFError:
        raise CommandError("No terminal to type a password at; give it with --password.") from None


class Command(BaseCommand):
    help = "Opens an empty workshop in a new database (DAYBOOK_MODE=workshop or production)."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--name", required=True)
        parser.add_argument("--owner", required=True, help="the owner's e-mail address")
        parser.add_argument("--owner-name", default="Owner")
        parser.add_argument("--country", default="DE", help="two letters")
        parser.add_argument("--currency", default="EUR")
        parser.add_argument("--time-zone", default=settings.TIME_ZONE)
        parser.add_argument("--password", help="asked for when left out")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.DEMO:
            raise CommandError(
                "This is the demo's database; set DAYBOOK_MODE=workshop and an own DAYBOOK_VAR or DATABASE_URL."
            )
        try:
            validate_email(options["owner"])
            password = options["password"] or typed_password()
            validate_password(password)
        except ValidationError as trouble:
            raise CommandError(" ".join(trouble.messages)) from None
        call_command("migrate", verbosity=0, interactive=False)
        call_command("load_catalogue", verbosity=0)
        shop = json.loads((FOLDER / "shop.json").read_text())
        try:
            with timezone.override(opening.zone_of(options["time_zone"])), transaction.atomic():
                opening.open_workshop(
                    name=options["name"],
                    country=options["country"],
                    currency=options["currency"],
                    timezone=options["time_zone"],
                    email=options["owner"],
                )
                opening.lay_out_shop(shop["machines"], shop["racks"])
                owner = opening.add_sign_in(
                    options["owner_name"], options["owner"], ["owner", "bench"], password
                )
                opening.add_person(
                    "owner", options["owner_name"], list(SKILLS), "mon-fri 08:00-12:00 13:00-17:00", owner
                )
                opening.first_price_book(
                    FOLDER / "price_book.json", options["currency"], timezone.localdate()
                )
                home = options["country"].upper()
                opening.add_freight_zone("home", "Home", 1, [home], 3)
                opening.add_freight_zone("far", "Everywhere else", 2, ["*"], 14)
                opening.add_tax("*", "NONE", "No tax entered yet", 0, timezone.localdate())
        except Refused as refused:
            raise CommandError(refused.message) from None
        self.stdout.write(
            f"{options['name']} is open. Start it with bin/serve and sign in as {options['owner']}. Before the first quote"
            " enter address and bank under Shop, The workshop, and go over the price book and the tax table with your"
            " accountant."
        )
