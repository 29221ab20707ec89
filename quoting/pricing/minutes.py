"""Work content: minutes of a skill for every stage of the build, from the geometry and the price book.

Minutes are for one propeller; a quantity multiplies them. Each stage is a sum of products of figures from the
geometry, the catalogue and the price book, and shows them as its workings.
"""

from collections.abc import Callable
from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.lines import StageMinutes, Working
from quoting.pricing.money import round_half_up
from quoting.pricing.tally import Tally, check_measures, exact, fact
from quoting.pricing.waits import wait_minutes
from quoting.propeller.build import STAGES
from quoting.propeller.catalogue import Timber
from quoting.propeller.measures import Measures
from quoting.propeller.specification import Specification

LONGEST = 100_000
"""No stage may ask for more minutes than this: the coefficients are then beyond any propeller."""


class _Job:
    """The three inputs with the factors every stage draws on."""

    def __init__(self, measures: Measures, specification: Specification, book: PriceBook) -> None:
        self.specification = specification
        self.measures = measures
        self.book = book
        self.blades = self._count("blades", measures.blades, "blade")
        self.holes = self._count("bolt_holes", measures.bolt_holes, "hole")
        self.lugs = self._count("lug_counterbores", measures.lug_counterbores, "hole")
        self.surface = self._measured("blade_surface", measures.blade_surface, "m2")
        self.timber_ease = workability(specification.timber)

    def key(self, key: str) -> Working:
        return self.book.working(key)

    def choice(self, family: str, code: str) -> Working:
        return self.book.working(self.book.key_for(family, code))

    def _measured(self, name: str, value: float, unit: str, *, scale: int = 1) -> Working:
        return fact(name.replace("_", " "), exact(value, name, scale=scale), unit, f"geometry: {name}")

    def _count(self, name: str, value: int, unit: str) -> Working:
        return self._measured(name, value, unit)

    @property
    def board_feet(self) -> Working:
        return self._measured("board_feet", self.measures.board_feet, "bf")

    @property
    def laminations(self) -> Working:
        return self._count("laminations", self.measures.laminations, "lamination")

    @property
    def glue_area(self) -> Working:
        return self._measured("glue_area", self.measures.glue_area, "m2")

    @property
    def litres_removed(self) -> Working:
        return self._measured("wood_removed", self.measures.wood_removed, "l", scale=1000)

    @property
    def boss_centimetres(self) -> Working:
        return self._measured("boss_thickness", self.measures.boss_thickness, "cm", scale=100)

    @property
    def boss_rim(self) -> Working:
        rim = 3.141592653589793 * self.measures.boss_diameter * self.measures.boss_thickness
        return self._measured("boss_rim", rim, "dm2", scale=100)

    @property
    def guard_metres(self) -> Working:
        return self._measured("guard_length", self.measures.guard_length, "m")

    @property
    def boss_excess_width(self) -> Working:
        ratio = exact(self.measures.boss_width_ratio, "boss_width_ratio")
        limit = self.book["boss.wide_above"]
        origin = f"geometry: boss_width_ratio {ratio} above {limit} of price book {self.book.version}: boss.wide_above"
        return fact("boss width over", max(ratio - limit, Decimal(0)), "chord", origin)

    @property
    def boss_missing_thickness(self) -> Working:
        thickness = exact(self.measures.boss_thickness, "boss_thickness", scale=1000, places=2)
        limit = self.book["boss.thin_below"]
        origin = f"geometry: boss_thickness {thickness} mm below {limit} of price book {self.book.version}: boss.thin_below"
        return fact("boss thickness under", max(limit - thickness, Decimal(0)), "mm", origin)

    @property
    def coats(self) -> Working:
        finish = self.specification.finish
        if finish.coats > 0:
            return fact("coats", finish.coats, "coat", f"catalogue: finish {finish.code}")
        return self.book.working("varnish.coats", "coats")

    @property
    def coats_after_the_first(self) -> Working:
        return fact("coats after the first", self.coats.value - 1, "coat", self.coats.origin)

    @property
    def decals(self) -> Working:
        decal = self.specification.decal
        number = 0 if decal is None else self.measures.blades if decal.both_blades else 1
        return fact("decals", number, "decal", "specification: decal")


def workability(timber: Timber) -> Working:
    """How hard a timber is to carve, 1 for yellow birch; from the catalogue."""
    value = exact(timber.workability.value, "timber.workability")
    return fact(
        "workability", value, "factor", f"catalogue: timber {timber.code} ({timber.workability.trust})"
    )


def coats(specification: Specification, book: PriceBook) -> int:
    """Coats of varnish: the finish's own, or the price book's when the finish names none."""
    return specification.finish.coats if specification.finish.coats > 0 else int(book["varnish.coats"])


def _condition(job: _Job, tally: Tally) -> None:
    tally.add("choosing boards", job.key("condition.setup"))
    tally.add("sorting and docking", job.key("condition.per_board_foot"), job.board_feet)


def _laminate(job: _Job, tally: Tally) -> None:
    tally.add("cauls and clamps", job.key("laminate.setup"))
    tally.add("laminations", job.key("laminate.per_lamination"), job.laminations)
    tally.add("gluing", job.key("laminate.per_glue_area"), job.glue_area)


def _rest(job: _Job, tally: Tally) -> None:
    tally.add("looking after the blank", job.key("rest.look"))


def _bore(job: _Job, tally: Tally) -> None:
    tally.add("squaring", job.key("bore.setup"))
    tally.add("boring", job.key("bore.per_centimetre"), job.boss_centimetres)


def _carve(job: _Job, tally: Tally) -> None:
    tally.add("marking out", job.key("carve.setup"))
    tally.add("taking wood off", job.key("carve.per_litre"), job.litres_removed, job.timber_ease)


def _boss(job: _Job, tally: Tally) -> None:
    tally.add("bandsaw", job.key("boss.saw"), job.blades, job.timber_ease)
    tally.add("drum sander", job.key("boss.sander"), job.blades, job.timber_ease)
    tally.add("blending", job.key("boss.blend"), job.blades, job.timber_ease)
    tally.add("rim", job.key("boss.rim"), job.boss_rim)
    tally.add("wide boss", job.key("boss.wide"), job.boss_excess_width, job.blades, job.timber_ease)
    tally.add("thin boss", job.key("boss.thin"), job.boss_missing_thickness, job.blades)


def _tips(job: _Job, tally: Tally) -> None:
    form = job.choice("tips.form", job.specification.tip_form.value)
    tally.add("tips", job.key("tips.per_blade"), job.blades, form)


def _sand(job: _Job, tally: Tally) -> None:
    tally.add("making ready", job.key("sand.setup"))
    tally.add("belt", job.key("sand.belt"), job.surface, job.timber_ease)
    tally.add("orbital", job.key("sand.orbital"), job.surface, job.timber_ease)


def _track(job: _Job, tally: Tally) -> None:
    tally.add("setting up", job.key("track.setup"))
    tally.add("blades", job.key("track.per_blade"), job.blades)


def _balance(job: _Job, tally: Tally) -> None:
    grain = job.choice("balance.timber", job.specification.timber.code)
    tally.add("knife edges", job.key("balance.setup"))
    tally.add("trials", job.key("balance.trial"), job.key("balance.trials"), job.blades, grain)


def _drill(job: _Job, tally: Tally) -> None:
    if job.specification.hub.is_blank:
        return
    tally.add("centring", job.key("drill.setup"))
    tally.add("holes", job.key("drill.per_hole"), job.holes)
    tally.add("counterbores", job.key("drill.per_counterbore"), job.lugs)


def _stamp(job: _Job, tally: Tally) -> None:
    tally.add("stamping", job.key("stamp.minutes"))


def _guard(job: _Job, tally: Tally) -> None:
    if job.specification.guard is not None and job.guard_metres.value:
        tally.add("patterns", job.key("guard.setup"))
        tally.add("fitting", job.key("guard.per_metre"), job.guard_metres)


def _varnish(job: _Job, tally: Tally) -> None:
    tally.add("making ready", job.key("varnish.setup"), job.coats)
    tally.add("laying on", job.key("varnish.brush"), job.surface, job.coats)
    tally.add("scuffing", job.key("varnish.scuff"), job.surface, job.coats_after_the_first)


def _seal(job: _Job, tally: Tally) -> None:
    tally.add("making ready", job.key("seal.setup"))
    tally.add("holes", job.key("seal.per_hole"), job.holes)


def _decal(job: _Job, tally: Tally) -> None:
    if job.decals.value:
        tally.add("setting out", job.key("decal.setup"))
        tally.add("applying", job.key("decal.per_decal"), job.decals)


def _final(job: _Job, tally: Tally) -> None:
    grain = job.choice("balance.timber", job.specification.timber.code)
    tally.add("knife edges", job.key("final.setup"))
    tally.add("trials", job.key("balance.trial"), job.key("final.trials"), job.blades, grain)


def _inspect(job: _Job, tally: Tally) -> None:
    tally.add("record, bore and faces", job.key("inspect.setup"))
    tally.add("blades", job.key("inspect.per_blade"), job.blades)


def _crate(job: _Job, tally: Tally) -> None:
    tally.add("packing", job.key("crate.setup"))
    tally.add("cutting and nailing", job.key("crate.per_m2"), crate_board(job.measures))


def crate_board(measures: Measures) -> Working:
    """Boarding of one crate in m2: the six faces of its length, width and height."""
    length, width, height = measures.crate_length, measures.crate_width, measures.crate_height
    area = exact(2 * (length * width + length * height + width * height), "crate")
    return fact("crate board", area, "m2", "geometry: crate_length, crate_width, crate_height")


_WORK: dict[str, Callable[[_Job, Tally], None]] = {
    "condition": _condition,
    "laminate": _laminate,
    "rest": _rest,
    "bore": _bore,
    "rough-carve": _carve,
    "shape-boss": _boss,
    "trim-tips": _tips,
    "sand": _sand,
    "track": _track,
    "balance": _balance,
    "drill": _drill,
    "stamp": _stamp,
    "edge-guard": _guard,
    "varnish": _varnish,
    "seal-holes": _seal,
    "decal": _decal,
    "final-balance": _final,
    "inspect": _inspect,
    "crate": _crate,
}


def work_content(
    measures: Measures, specification: Specification, book: PriceBook
) -> tuple[StageMinutes, ...]:
    """Whole minutes of work and elapsed wait of every stage, in build order, for one propeller.

    Stages that an order does not need (no guard, no decal, no bolt holes) have no minutes. Raises `Refused` (a ValueError)
    naming the figure when a measure is negative, not finite or beyond any propeller.
    """
    check_measures(measures)
    job = _Job(measures, specification, book)
    return tuple(_stage(key, job) for key in STAGES)


def _stage(key: str, job: _Job) -> StageMinutes:
    stage, tally = STAGES[key], Tally("min")
    _WORK[key](job, tally)
    minutes = int(round_half_up(min(tally.total, Decimal(LONGEST)), 0))
    wait, waiting = wait_minutes(key, job.specification, job.book, coats=job.coats, idle=not minutes)
    return StageMinutes(key, stage.label, stage.skill, minutes, wait, tally.workings + waiting)
