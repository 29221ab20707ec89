"""The ask page's form: labels and help; what a propeller needs is read by `quoting.services.asked`."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.utils.translation import gettext_lazy as _

from orders.picture_field import PictureField
from portal.forms.countries import COUNTRIES
from quoting.propeller.catalogue import Category, Gear, Hand, Position, Rotation, TipForm
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Use, Wish
from quoting.services.asked import LENGTHS
from quoting.services.catalogue import Catalogue
from quoting.services.reading import code_of

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise
else:
    StrOrPromise = str
Choices = Iterable[tuple[str, StrOrPromise]]

USES = {Use.FLIGHT: _("Flight"), Use.DISPLAY: _("Display only: stamped and papered NOT FOR FLIGHT")}
CATEGORIES = {
    Category.AMATEUR_BUILT: _("Amateur-built"),
    Category.MICROLIGHT: _("Microlight or ultralight"),
    Category.VINTAGE_PERMIT: _("Vintage, on a permit or limited certificate"),
    Category.REPLICA: _("Replica"),
    Category.TYPE_CERTIFICATED: _(
        "Type-certificated: only a propeller its approved data allow may be fitted"
    ),
    Category.NOT_REGISTERED: _("Not registered (display, wind machine)"),
    Category.UNKNOWN: _("I do not know"),
}
GEARS = {Gear.NOSE_WHEEL: _("Nose wheel"), Gear.TAIL_WHEEL: _("Tail wheel"), Gear.FLOATS: _("Floats")}
POSITIONS = {Position.TRACTOR: _("Tractor: it pulls"), Position.PUSHER: _("Pusher: it pushes")}
HANDS = {Hand.RIGHT: _("Right hand: clockwise"), Hand.LEFT: _("Left hand: anticlockwise")}
ROTATIONS = {Rotation.CLOCKWISE: _("Clockwise"), Rotation.ANTICLOCKWISE: _("Anticlockwise")}
WISHES = {
    Wish.RECOMMEND: _("Recommend a size for my engine and airframe"),
    Wish.KNOWN: _("I know diameter and pitch"),
    Wish.COPY: _("Copy an existing propeller; I give its diameter and pitch"),
    Wish.ENGINE_ONLY: _("I know the engine and airframe, nothing more"),
}
TIPS = {
    TipForm.ROUND: _("Round"),
    TipForm.ELLIPTICAL: _("Elliptical"),
    TipForm.SQUARE_RAKED: _("Square, raked"),
    TipForm.SCIMITAR: _("Scimitar"),
}
LENGTHS_IN = {"in": _("inches"), "mm": _("millimetres")}
NOT_LISTED = ("", _("Mine is not listed, or I leave it open"))


def coded(words: Mapping[Any, StrOrPromise]) -> list[tuple[str, StrOrPromise]]:
    return [(code_of(member), word) for member, word in words.items()]


class TypedChoice(forms.ChoiceField):
    """A choice whose value is judged where every typed field is judged; here it is only shown."""

    def valid_value(self, value: Any) -> bool:
        return True


def line(label: StrOrPromise, help_text: StrOrPromise = "", **attributes: Any) -> forms.CharField:
    """One line of text."""
    return forms.CharField(
        label=label, help_text=help_text, required=False, widget=forms.TextInput(attrs=attributes)
    )


class Figure(forms.CharField):
    """One number, as text: fractions of an inch, decimal commas and units after it are welcome.

    `unit` is shown beside it.
    """

    unit: StrOrPromise = ""


def figure(label: StrOrPromise, help_text: StrOrPromise = "") -> Figure:
    return Figure(
        label=label,
        help_text=help_text,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off", "size": 8}),
    )


def of_person(
    label: StrOrPromise, longest: int, completes: str, required: StrOrPromise = ""
) -> forms.CharField:
    """One line about the person, which the browser may complete; `required` is what is said when it is empty."""
    return forms.CharField(
        label=label,
        max_length=longest,
        required=bool(required),
        widget=forms.TextInput(attrs={"autocomplete": completes}),
        error_messages={"required": required} if required else None,
    )


def select(label: StrOrPromise, choices: Choices, help_text: StrOrPromise = "") -> TypedChoice:
    return TypedChoice(label=label, choices=list(choices), required=False, help_text=help_text)


def pick(
    label: StrOrPromise, choices: Choices, help_text: StrOrPromise = "", initial: str = ""
) -> TypedChoice:
    return TypedChoice(
        label=label,
        choices=list(choices),
        required=False,
        help_text=help_text,
        initial=initial,
        widget=forms.RadioSelect,
    )


def tick(label: StrOrPromise, help_text: StrOrPromise = "") -> forms.BooleanField:
    return forms.BooleanField(label=label, help_text=help_text, required=False)


class PropellerForm(forms.Form):
    """What is typed about the propeller. Nothing is refused here; findings are put at their fields by `show`."""

    use = pick(_("The propeller is for"), coded(USES), initial="flight")
    quantity = figure(_("How many"), _("Alike in everything."))

    airframe = select(_("Airframe"), [NOT_LISTED])
    airframe_name = line(_("Airframe, if not listed"), _("Its type, or your own name for it."), maxlength=80)
    category = select(
        _("Registered as"),
        [("", _("As usual for the airframe")), *coded(CATEGORIES)],
        _("Decides who must approve a propeller. If you do not know, ask your inspector before you order."),
    )
    top_speed = figure(_("Top speed, level"))
    cruise_speed = figure(_("Cruising speed"))
    speed_unit = select(
        _("Speeds in"), [("mph", "mph"), ("kt", _("knots")), ("km/h", "km/h"), ("m/s", "m/s")]
    )
    gear = select(_("Undercarriage"), [("", _("As usual for the airframe")), *coded(GEARS)])
    hub_height = figure(_("Shaft above the ground"), _("For clearance under the tips."))
    free_radius = figure(
        _("Free radius round the shaft"),
        _(
            "From the shaft's middle to the nearest part of the airframe the tips could meet; empty if none is near."
        ),
    )

    engine = select(_("Engine"), [NOT_LISTED])
    engine_name = line(_("Engine, if not listed"), maxlength=80)
    power = figure(_("Power"), _("At full throttle; goes before the listed figure."))
    power_unit = select(_("Power in"), [("hp", "hp"), ("kW", "kW"), ("PS", "PS")])
    engine_rpm = figure(_("Engine speed at that power, rpm"))
    gear_ratio = figure(_("Reduction"), _("Engine turns for one of the propeller; empty for direct drive."))

    position = select(_("It sits as"), [("", _("As usual for the airframe")), *coded(POSITIONS)])
    rotation = pick(
        _("The engine, seen by someone facing its flange, turns"),
        [*coded(ROTATIONS), ("", _("As the catalogue says"))],
        _(
            "Stand before the flange and look at it. On a tractor this is the opposite of the propeller's hand, on a "
            "pusher the same."
        ),
    )
    hand = pick(
        _("The propeller, seen from its slipstream, turns"),
        [*coded(HANDS), ("", _("As my engine turns"))],
        _(
            "Stand in the propeller's slipstream and look the way it flies. Look with the ignition off; treat it as live."
        ),
    )
    blades = select(_("Blades"), [("2", _("Two")), ("3", _("Three")), ("4", _("Four"))])

    length_unit = TypedChoice(
        label=_("Lengths in"), choices=list(LENGTHS_IN.items()), required=False, widget=forms.HiddenInput
    )
    hub = select(_("Bolt pattern"), [("", _("The usual one of my engine"))])
    bolts = figure(_("Number of bolts"))
    circle = figure(_("Bolt circle"))
    hole = figure(_("Hole"))
    pilot = figure(_("Pilot (centre boss)"), _("0 if there is none."))
    lug_diameter = figure(_("Drive lugs, diameter"), _("Empty if there are none."))
    lug_depth = figure(_("Drive lugs, depth"))
    boss_diameter = figure(_("Boss, across"), _("Empty: what goes with the pattern."))
    boss_thickness = figure(_("Boss, thickness"))
    clocking = figure(_("Clocking, degrees"), _("0 puts a hole on the blade's centre line."))
    face_plate_thickness = figure(_("Face plate, thickness"))
    spacer_thickness = figure(_("Spacer, thickness"))
    spinner_diameter = figure(_("Spinner, diameter"))
    bolt_length = figure(_("Bolts, length under the head"))
    bolts_ordered = tick(_("Send bolts with it"))

    wish = pick(_("About the size"), coded(WISHES), initial="recommend")
    diameter = figure(_("Diameter"))
    pitch = figure(_("Pitch"))
    pitch_station = figure(_("Pitch stated at, % of the radius"), _("Usually 75."))
    altitude = figure(_("Usual height of flight"))
    altitude_unit = select(_("Height in"), [("m", "m"), ("ft", "ft")])
    quiet = tick(_("Quieter: lower tip speed, if that can be had"))

    timber = pick(_("Timber"), [])
    glue = select(_("Glue"), [("", _("The workshop's usual"))])
    finish = select(_("Finish"), [("", _("The workshop's usual"))])
    guard = select(_("Leading-edge guard"), [("", _("None"))])
    tip_form = select(_("Tip form"), coded(TIPS))
    lamination_thickness = figure(_("Lamination, thickness"))
    moisture = figure(_("Moisture of the timber, %"))
    humidity = figure(_("Air where it will live: humidity, %"))
    temperature = figure(_("and temperature, °C"))
    decal_text = line(
        _("Decal: wording"),
        _("A period-correct marking of your own; you must be free to use it. At most 60 characters."),
    )
    decal_station = figure(_("Decal sits at, % of the radius"), _("Usually 60."))

    country = select(_("Country"), [("", _("Choose"))], _("Decides freight and tax."))
    delivery = select(_("Delivery"), [("ship", _("Ship it in a crate")), ("collect", _("I fetch it"))])
    rush = tick(_("Rush: ask for an earlier date, at a surcharge"))

    def __init__(self, *args: Any, catalogue: Catalogue, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows: dict[str, Iterable[Any]] = {
            "airframe": catalogue.airframes.values(),
            "engine": catalogue.engines.values(),
            "hub": catalogue.hub_patterns.values(),
            "timber": catalogue.timbers.values(),
            "glue": catalogue.glues.values(),
            "finish": catalogue.finishes.values(),
            "guard": catalogue.edge_guards.values(),
        }
        for name, offered in rows.items():
            choice = self.fields[name]
            assert isinstance(choice, TypedChoice)
            choice.choices = [*cast("Choices", choice.choices), *((row.code, row.name) for row in offered)]
        country = self.fields["country"]
        assert isinstance(country, TypedChoice)
        country.choices = [
            *cast("Choices", country.choices),
            *sorted(COUNTRIES.items(), key=lambda entry: str(entry[1])),
        ]

    def typed(self) -> dict[str, str]:
        """Every field about the propeller as typed, empty ones left out."""
        names = PropellerForm.base_fields
        raw = ((name, self.data.get(name, "")) for name in names)
        return {name: text for name, text in raw if isinstance(text, str) and text.strip()}

    def show(self, problems: Iterable[Finding]) -> None:
        """Put each problem at its field, or above the form when it has none."""
        for problem in problems:
            if problem.severity is Severity.STOP:
                self.add_error(problem.field if problem.field in self.fields else None, problem.message)


class AskForm(PropellerForm):
    """The propeller and the person who asks, as sent with the button."""

    decal_picture = PictureField(
        label=_("Decal: a picture"), required=False, help_text=_("PNG, JPEG or WebP, at most 8 MB.")
    )
    name = of_person(_("Your name"), 120, "name", required=_("Write your name."))
    email = forms.EmailField(
        label=_("E-mail"),
        help_text=_("The link to your enquiry and the quote go there."),
        max_length=254,
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
        error_messages={
            "required": _("Write an address like name@example.org."),
            "invalid": _("This is no e-mail address; write one like name@example.org."),
        },
    )
    phone = of_person(_("Telephone"), 40, "tel")
    street = of_person(_("Street and number"), 160, "street-address")
    postcode = of_person(_("Postcode"), 20, "postal-code")
    city = of_person(_("Town"), 120, "address-level2")
    region = of_person(_("State or region"), 60, "address-level1")
    tax_id = forms.CharField(label=_("VAT number"), max_length=40, required=False, help_text=_("For firms."))
    remark = forms.CharField(
        label=_("Anything else"),
        max_length=3000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = "mm" if self["length_unit"].value() == "mm" else "in"
        for name in LENGTHS:
            cast("Figure", self.fields[name]).unit = self.unit
        self.fields["decal_picture"].widget.attrs["hx-preserve"] = "true"

    PERSON = ("name", "email", "phone", "street", "postcode", "city", "region", "tax_id")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.data.get("country", "").strip():
            self.add_error("country", _("Choose the country it goes to."))
        return cleaned

    def address(self) -> dict[str, str]:
        """Name and address as they go with the enquiry."""
        return {name: self.cleaned_data[name] for name in self.PERSON} | {
            "country": self.data["country"].strip()
        }
