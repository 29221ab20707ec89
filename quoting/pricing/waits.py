"""Elapsed-only waits: conditioning, glue and varnish, slower in a cold shop."""

from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.lines import Working
from quoting.pricing.money import round_half_up
from quoting.pricing.tally import Tally, exact, fact
from quoting.propeller.finding import Finding, Severity
from quoting.propeller.specification import Specification

REFERENCE = Decimal(21)
"""Temperature in °C at which the catalogue and the price book state their waits."""

LONGEST_WAIT = 60 * 24 * 365
"""No wait is taken to be longer than a year, in minutes."""


def cold(book: PriceBook, doubling: str) -> Working:
    """How much longer a wait takes at the shop's temperature: 2 to the power of (21 °C - T) / doubling.

    Arrhenius-style rule of thumb, common practice: 10 h at 25 °C are 20 h at 15 °C for a doubling of 10 °C.
    """
    exponent = (REFERENCE - book["shop.temperature"]) / book[doubling]
    factor = round_half_up(Decimal(2) ** exponent, 4)
    origin = f"price book {book.version}: shop.temperature, {doubling}"
    return fact("slower or faster at the shop's temperature", factor, "factor", origin)


def too_cold(specification: Specification, book: PriceBook) -> tuple[Finding, ...]:
    """A caution where the shop's usual temperature is below the lowest the glue may set at.

    Resorcinol assembled and cured below 21 °C is not to be relied on for full strength (FAA handbook wording).
    """
    glue, shop = specification.glue, book["shop.temperature"]
    lowest = glue.lowest_temperature
    if exact(lowest.value, "glue.lowest_temperature") <= shop:
        return ()
    message = (
        f"{glue.name} must set at {lowest.value:g} °C or more; the shop is usually at {shop.normalize():f} °C:"
        " the blank has to be kept warm in its clamps."
    )
    return (
        Finding(
            "glue-cold", Severity.CAUTION, "glue", float(shop), lowest.value, "°C", message, lowest.source
        ),
    )


def wait_minutes(
    stage: str, specification: Specification, book: PriceBook, *, coats: Working, idle: bool
) -> tuple[int, tuple[Working, ...]]:
    """Elapsed minutes after a stage and how they came about; none after a stage without work (`idle`)."""
    tally = Tally("h")
    if not idle:
        _add(stage, specification, book, coats, tally)
    minutes = int(round_half_up(tally.total * 60, 0))
    return min(minutes, LONGEST_WAIT), tally.workings


def _add(stage: str, specification: Specification, book: PriceBook, coats: Working, tally: Tally) -> None:
    glue, finish = specification.glue, specification.finish
    if stage == "condition":
        drying = cold(book, "condition.doubling")
        tally.add("lying in the shop", book.working("condition.hours"), drying)
        tally.add(
            "to the aim", book.working("condition.hours_per_percent"), _percents(specification, book), drying
        )
    elif stage == "laminate":
        clamped = fact(
            "in clamps",
            exact(glue.clamp_hours.value, "glue.clamp_hours"),
            "h",
            f"catalogue: glue {glue.code}",
        )
        tally.add("glue sets", clamped, cold(book, "glue.doubling"))
    elif stage == "rest":
        rested = fact(
            "rest", exact(glue.rest_hours.value, "glue.rest_hours"), "h", f"catalogue: glue {glue.code}"
        )
        tally.add("glue cures", rested, cold(book, "glue.doubling"))
    elif stage == "varnish":
        recoat = exact(finish.recoat_hours.value, "finish.recoat_hours")
        dried = fact("between coats", recoat, "h/coat", f"catalogue: finish {finish.code}")
        tally.add("varnish dries", dried, coats, cold(book, "varnish.doubling"))
    elif stage == "seal-holes":
        tally.add("seal dries", book.working("seal.hours"), cold(book, "varnish.doubling"))
    elif stage == "decal":
        tally.add("decal settles", book.working("decal.hours"), cold(book, "varnish.doubling"))


def _percents(specification: Specification, book: PriceBook) -> Working:
    moisture = exact(specification.moisture, "moisture")
    away = abs(moisture - book["condition.aim"])
    return fact("moisture away from the aim", away, "percent", f"specification: moisture {moisture}")
