"""The answer to the wish about the size: offers with figures, what a known size will do, what was taken as given."""

from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from quoting.propeller.assessment import Assessment
from quoting.propeller.drawing.flights import TO
from quoting.propeller.drawing.lettering import Units, grouped, length_words
from quoting.propeller.drawing.performance import HORSEPOWER, shown_units
from quoting.propeller.drawing.sizes import size_words
from quoting.propeller.figure import Figure
from quoting.propeller.matching import Flight
from quoting.propeller.recommend import Character, Recommendation, gives_up
from quoting.propeller.specification import Specification, Wish


@dataclass(frozen=True, slots=True)
class Offer:
    """One size we would offer, in words. `take` is diameter;pitch in m as the form sends it back."""

    name: str
    size: str
    figures: str
    gives_up: str
    limited_by: str
    take: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class Taken:
    """A figure that was taken as given because nothing else was typed, with its source."""

    name: str
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class WishAnswer:
    """The answer to one wish. `heading` says what it answers; the rest is empty where it does not apply.

    `stations` asks the page to show the table of stations, to measure an existing propeller against.
    """

    heading: str
    sentences: tuple[str, ...]
    offers: tuple[Offer, ...]
    taken: tuple[Taken, ...]
    stations: bool


def answer_to_wish(assessment: Assessment, units: Units) -> WishAnswer:
    """What the wish of an assessed specification asks for, in words and figures."""
    a, wish = assessment, assessment.specification.wish
    offers = tuple(_offer(_worked_out(offer, a), a.specification, units) for offer in a.recommendations)
    if wish is Wish.RECOMMEND:
        return WishAnswer(_("Sizes we recommend"), _choice(offers), offers, (), False)
    if wish is Wish.ENGINE_ONLY:
        taken = _taken(a.specification, units)
        return WishAnswer(_("What suits your engine and airframe"), _choice(offers), offers, taken, False)
    said = (*_doing(a), *_against(a, units))
    if wish is Wish.COPY and a.blade is not None:
        measure = _(
            "Lay a protractor on the flat face of the old one at these stations and compare: what differs, write "
            "under “Anything else”, and we draw it as it is."
        )
        return WishAnswer(_("What the copy will do"), (*said, measure), offers, (), True)
    heading = _("What the copy will do") if wish is Wish.COPY else _("What your size will do")
    return WishAnswer(heading, said, offers, (), False)


def _name(character: Character) -> str:
    return {
        Character.CLIMB: _("climb"),
        Character.STANDARD: _("standard"),
        Character.CRUISE: _("cruise"),
    }[character]


def _is_this(offer: Recommendation, specification: Specification) -> bool:
    """Whether the offer is the size the answer is for."""
    return (
        specification.diameter is not None
        and specification.pitch is not None
        and abs(specification.diameter - offer.diameter) < 1e-6
        and abs(specification.pitch - offer.pitch) < 1e-6
    )


def _worked_out(offer: Recommendation, a: Assessment) -> Recommendation:
    """The offer with the figures of the full computation, where the answer is for it: one propeller, one set of figures."""
    flown, engine = a.performance, a.specification.engine
    if flown is None or flown.top is None or engine is None or not _is_this(offer, a.specification):
        return offer
    standard = next((o for o in a.recommendations if o.character is Character.STANDARD), offer)
    rated = (
        engine.rated_speed.value / (engine.gear_ratio.value if engine.gear_ratio else 1.0)
        if engine.rated_speed
        else 0.0
    )
    return replace(
        offer,
        static_speed=flown.static.speed,
        static_thrust=flown.static.thrust,
        climb_thrust=flown.climb.thrust if flown.climb else offer.climb_thrust,
        top_speed=flown.top.speed,
        top_efficiency=flown.top.efficiency or offer.top_efficiency,
        tip_mach=flown.top.tip_mach,
        gives_up=gives_up(
            offer.character, offer.climb_thrust / standard.climb_thrust, flown.top.speed, rated
        ),
    )


def _offer(offer: Recommendation, specification: Specification, units: Units) -> Offer:
    shown = shown_units(units)
    thrust, name = shown["thrust"].per, shown["thrust"].name
    figures = _(
        "standing %(static)s rev/min, flat out %(top)s; thrust standing %(pull)s %(unit)s, climbing %(climb)s; "
        "efficiency flat out %(efficiency)s; tips at Mach %(mach)s"
    ) % {
        "static": grouped(60 * offer.static_speed),
        "top": grouped(60 * offer.top_speed),
        "pull": grouped(offer.static_thrust / thrust),
        "unit": name,
        "climb": grouped(offer.climb_thrust / thrust),
        "efficiency": f"{offer.top_efficiency:.2f}",
        "mach": f"{offer.tip_mach:.2f}",
    }
    return Offer(
        name=_name(offer.character),
        size=size_words(offer.diameter, offer.pitch, units),
        figures=figures,
        gives_up=offer.gives_up,
        limited_by=offer.limited_by,
        take=f"{offer.diameter:.4f};{offer.pitch:.4f}",
        chosen=_is_this(offer, specification),
    )


def _choice(offers: tuple[Offer, ...]) -> tuple[str, ...]:
    if not offers:
        return (_("None can be offered as asked; the findings say what stands in the way."),)
    chosen = next((offer for offer in offers if offer.chosen), None)
    if chosen is None:
        return ()
    words = _("Answered for the %(name)s one, %(size)s; take another and everything follows it.")
    return (words % {"name": chosen.name, "size": chosen.size},)


def _share(flight: Flight, rated: float) -> str:
    band = flight.rpm_band
    ends = f"{grouped(band.low)}{TO}{grouped(band.high)}"
    return _("%(ends)s rev/min, %(low).0f to %(high).0f %% of rated") % {
        "ends": ends,
        "low": 100 * band.low / (60 * rated),
        "high": 100 * band.high / (60 * rated),
    }


def _doing(a: Assessment) -> tuple[str, ...]:
    """Full-throttle rpm of a size that was given, against the engine's rated speed."""
    if a.blade is None:
        return (_("It cannot be worked out as asked; the findings say why."),)
    engine = a.specification.engine
    known = engine is not None and engine.rated_power is not None and engine.rated_speed is not None
    if a.performance is None and known:
        return (_("Engine and propeller do not meet, so no rpm can be given; the findings say why."),)
    if a.performance is None:
        return (
            _(
                "Name the engine, or type its power and speed, to see what this size will do; shape, mass, price and "
                "date are answered without."
            ),
        )
    if engine is None or engine.rated_speed is None:
        return ()
    rated = engine.rated_speed.value / (engine.gear_ratio.value if engine.gear_ratio else 1.0)
    said = [_("Standing at full throttle: %(rpm)s.") % {"rpm": _share(a.performance.static, rated)}]
    if a.performance.top is not None:
        said.append(
            _("Flat out in level flight at top speed: %(rpm)s.") % {"rpm": _share(a.performance.top, rated)}
        )
    else:
        said.append(_("Type the airframe's top speed to see it in flight."))
    return tuple(said)


def _against(a: Assessment, units: Units) -> tuple[str, ...]:
    """The size given beside the one we would recommend for the same engine and airframe."""
    ours = next((o for o in a.recommendations if o.character is Character.STANDARD), None)
    if ours is None or a.performance is None or a.performance.top is None:
        return ()
    size = size_words(ours.diameter, ours.pitch, units)
    pull = 100 * (ours.static_thrust / a.performance.static.thrust - 1)
    gain = ours.top_efficiency - a.performance.top.efficiency
    if abs(pull) < 0.5 and abs(gain) < 0.005:
        return (_("We would recommend %(size)s, which does the same within a hair.") % {"size": size},)
    words = _(
        "We would recommend %(size)s: against yours %(pull)s %% standing thrust, %(gain)s efficiency flat out."
    )
    return (
        words
        % {"size": size, "pull": f"{pull:+.0f}", "gain": f"{gain + 0.0:+.2f}".replace("-0.00", "+0.00")},
    )


def _taken(s: Specification, units: Units) -> tuple[Taken, ...]:
    """What the catalogue gave for engine and airframe, each with its source."""
    speed = shown_units(units)["speed"]

    def row(name: str, figure: Figure | None, per: float, unit: str, digits: int = 0) -> list[Taken]:
        if figure is None:
            return []
        return [Taken(name, f"{grouped(figure.value / per, digits)} {unit}".strip(), figure.source)]

    rows: list[Taken] = []
    if s.engine is not None:
        power = (HORSEPOWER, "hp") if units == "in" else (1000.0, "kW")
        rows += row(_("Rated power"), s.engine.rated_power, *power)
        rows += row(_("at"), s.engine.rated_speed, 1 / 60, _("engine rev/min"))
        rows += row(_("Reduction"), s.engine.gear_ratio, 1.0, ": 1", 2)
        rows.append(Taken(_("Hand"), f"{_(s.hand.value)}", s.engine.hand_source))
    if s.airframe is not None:
        if s.top_speed is None:
            rows += row(_("Top speed"), s.airframe.top_speed, speed.per, speed.name)
        if s.cruise_speed is None:
            rows += row(_("Cruising speed"), s.airframe.cruise_speed, speed.per, speed.name)
        if s.hub_height is None and s.airframe.hub_height is not None:
            height = s.airframe.hub_height
            rows.append(Taken(_("Shaft above the ground"), length_words(height.value, units), height.source))
        if s.airframe.diameter_max is not None:
            most = s.airframe.diameter_max
            rows.append(Taken(_("Largest diameter"), length_words(most.value, units), most.source))
    rows.append(Taken(_("Bolt pattern"), s.hub.name, s.hub.circle.source if s.hub.circle else ""))
    return tuple(rows)
