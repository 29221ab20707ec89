"""Every coefficient a price book may hold: key, unit, outer bounds, a starting value and the sentence that explains it.

Starting values are common practice, no source, unless the sentence names one. A key that ends in `.*` is a family:
a book holds one entry per code (a timber, a skill, a zone) and one for `other`, which stands in for unknown codes.
Quantity breaks alone are a family of whole numbers without `other`. What came into use after the first books were in
force is optional: a book without it takes the starting value.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

OPTIONAL = frozenset({"quantity.break.*", "rush.order_day"})
"""Keys a book need not hold."""

MONEY_CAP = Decimal(1_000_000)
"""No single rate may be above this, in whole units of the currency."""


@dataclass(frozen=True, slots=True)
class Definition:
    """What a key means: `value` is the starting value in `unit`, `low` and `high` are the outer bounds.

    `heading` is where it stands on the price book's page.
    """

    key: str
    heading: str
    value: Decimal
    unit: str
    low: Decimal
    high: Decimal
    sentence: str

    @property
    def is_family(self) -> bool:
        return self.key.endswith(".*")

    @property
    def wanted(self) -> str:
        """The key every book must hold: the family's `other`, or nothing for an optional one."""
        if self.key in OPTIONAL:
            return ""
        return self.key.removesuffix("*") + "other" if self.is_family else self.key


_WAITS = """
shop.temperature | 21 | °C | 5 | 40 | Usual temperature of the shop: glue, varnish and timber wait longer in the cold.
condition.hours | 48 | h | 0 | 2000 | Boards lie in the shop this long before they are planed, at 21 °C.
condition.hours_per_percent | 24 | h/percent | 0 | 500 | Each percent of moisture away from the aim adds this wait.
condition.aim | 10 | percent | 4 | 16 | Moisture the timber is brought to; 8 to 12 % is usual at building.
condition.doubling | 20 | °C | 5 | 60 | Drying takes twice as long for every so many degrees colder.
glue.doubling | 10 | °C | 5 | 30 | Glue sets twice as slowly for every so many degrees colder.
varnish.doubling | 10 | °C | 5 | 30 | Varnish dries twice as slowly for every so many degrees colder.
seal.hours | 4 | h | 0 | 200 | The sealed holes dry this long at 21 °C before the propeller is handled.
decal.hours | 2 | h | 0 | 200 | The decal settles this long at 21 °C before the last balance.
"""

_MINUTES = """
condition.setup | 25 | min | 0 | 2000 | Choosing boards: grain straight to 1 in 15, no knots, moisture read.
condition.per_board_foot | 2 | min/bf | 0 | 100 | Sorting and docking each board foot that is taken off.
laminate.setup | 20 | min | 0 | 2000 | Setting out the cauls and clamps for one blank.
laminate.per_lamination | 8 | min/lamination | 0 | 300 | Planing, marking and cutting one lamination.
laminate.per_glue_area | 12 | min/m2 | 0 | 600 | Spreading glue on both faces of each joint and clamping up.
rest.look | 5 | min | 0 | 600 | Looking at the glue lines and the moisture while the blank rests.
bore.setup | 15 | min | 0 | 2000 | Squaring the blank on the drill table and boring the pilot.
bore.per_centimetre | 1 | min/cm | 0 | 100 | Boring the centre through each centimetre of boss.
carve.setup | 20 | min | 0 | 2000 | Marking out the blades and setting the templates.
carve.per_litre | 8 | min/l | 0 | 600 | Taking off one litre of birch with saw, drawknife and plane; times the workability.
boss.saw | 5 | min/blade | 0 | 300 | Bandsawing the boss on each blade's side.
boss.sander | 6.25 | min/blade | 0 | 300 | Drum sander: 10 to 15 minutes for the boss of a two-blade propeller.
boss.blend | 8 | min/blade | 0 | 300 | Blending the boss into each blade root by hand.
boss.rim | 2 | min/dm2 | 0 | 300 | Fairing each square decimetre of the boss's rim.
boss.wide_above | 1.25 | factor | 0.2 | 10 | A boss wider than this many root chords takes longer to blend.
boss.wide | 20 | min/blade | 0 | 600 | Extra blending for each whole root chord of width above that.
boss.thin_below | 80 | mm | 0 | 300 | A boss thinner than this (small converted car engines) takes longer to blend.
boss.thin | 0.4 | min/mm | 0 | 60 | Extra blending on each blade for each millimetre thinner.
tips.per_blade | 8 | min/blade | 0 | 300 | Trimming one round tip to the template.
tips.form.* | 1 | factor | 0.1 | 10 | How much longer this tip form takes than a round one.
sand.setup | 10 | min | 0 | 2000 | Belts, discs and dust extraction made ready.
sand.belt | 160 | min/m2 | 0 | 3000 | Belt sanding from 60 grit up; times the workability.
sand.orbital | 220 | min/m2 | 0 | 3000 | Orbital sanding from 60 to 80 grit up to varnish; times the workability.
track.setup | 15 | min | 0 | 2000 | Setting the propeller up on the surface plate.
track.per_blade | 10 | min/blade | 0 | 300 | Measuring track, angles and thickness of one blade and easing the high spots.
balance.setup | 10 | min | 0 | 2000 | Levelling the knife edges and fitting the arbor.
balance.trial | 12 | min/trial | 0 | 300 | One trial on the knife edges and the wood taken off after it.
balance.trials | 2 | trial/blade | 0 | 50 | Trials for each blade before the holes are drilled.
balance.timber.* | 1 | factor | 0.1 | 10 | More trials in timber of uneven grain; mahogany sands fast but balances slowly.
drill.setup | 15 | min | 0 | 2000 | Centring the drill plate; holes are drilled after balance.
drill.per_hole | 5 | min/hole | 0 | 300 | Drilling and reaming one bolt hole.
drill.per_counterbore | 6 | min/hole | 0 | 300 | Counterboring one hole for its drive lug.
stamp.minutes | 20 | min | 0 | 2000 | Stamping the figures into the boss and colouring them.
guard.setup | 30 | min | 0 | 2000 | Cutting patterns for the leading-edge guard; nothing when none is ordered.
guard.per_metre | 80 | min/m | 0 | 3000 | Fitting, screwing and dressing each metre of guard.
varnish.coats | 3 | coat | 1 | 20 | Coats of varnish when the finish names none; they last up to ten years with care.
varnish.setup | 12 | min/coat | 0 | 300 | Dusting off, straining the varnish and cleaning up for each coat.
varnish.brush | 40 | min/m2 | 0 | 1000 | Laying one coat on each square metre.
varnish.scuff | 20 | min/m2 | 0 | 1000 | Scuff-sanding each square metre between coats.
seal.setup | 8 | min | 0 | 2000 | Making ready to seal bore and holes.
seal.per_hole | 1.5 | min/hole | 0 | 300 | Sealing one bolt hole; drilled after balance and sealed at once.
decal.setup | 10 | min | 0 | 2000 | Setting out the decal's place on the blade.
decal.per_decal | 20 | min/decal | 0 | 600 | Applying one decal to a blade.
final.setup | 10 | min | 0 | 2000 | Back on the knife edges after the varnish.
final.trials | 1 | trial/blade | 0 | 50 | Trials for each blade in the final balance, trimmed with varnish on the light side.
inspect.setup | 20 | min | 0 | 2000 | Reading the build record and measuring bore, holes and faces.
inspect.per_blade | 8 | min/blade | 0 | 300 | Inspecting one blade.
crate.setup | 35 | min | 0 | 2000 | Padding and screwing the propeller into its crate.
crate.per_m2 | 8 | min/m2 | 0 | 300 | Cutting and nailing each square metre of crate.
"""

_TAKEOFF = """
timber.price.* | 14 | money/bf | 0 | cap | What a board foot of this timber costs the shop, propeller grade.
timber.planing | 20 | percent | 0 | 300 | Timber lost to the planer, of the net take-off.
timber.defect | 25 | percent | 0 | 500 | Timber cut away for knots, run-out and ends, of the planed take-off.
glue.price.* | 30 | money/kg | 0 | cap | What a kilogram of mixed glue costs the shop.
glue.waste | 25 | percent | 0 | 300 | Glue left in the pot or squeezed out.
varnish.price.* | 36 | money/l | 0 | cap | What a litre of this finish costs the shop.
varnish.waste | 25 | percent | 0 | 300 | Varnish left in brush and strainer.
consumables.price | 18 | money | 0 | cap | Abrasives, tape and brushes for one propeller.
guard.price.* | 24 | money/m | 0 | cap | What a metre of this leading-edge guard costs the shop, with screws and rivets.
hardware.bolt | 9 | money | 0 | cap | One propeller bolt with washer and nut.
hardware.plate | 65 | money | 0 | cap | One face plate drilled to the pattern.
decal.price | 12 | money | 0 | cap | Film and ink for one decal.
artwork.hours | 1.5 | h | 0 | 100 | Drawing one decal from the customer's wish.
artwork.per_letter | 0.05 | h | 0 | 10 | Drawing each letter of it.
artwork.rate | 34 | money/h | 0 | cap | What an hour of drawing costs the shop.
crate.price | 15 | money | 0 | cap | Screws, padding and marking for one crate.
crate.board | 16 | money/m2 | 0 | cap | What a square metre of crate costs the shop.
"""

_FREIGHT = """
freight.base.* | 35 | money | 0 | cap | What the carrier asks for one crate to this zone before weight.
freight.weight.* | 2.6 | money/kg | 0 | cap | What the carrier asks for each kilogram to this zone.
freight.dimensional | 200 | kg/m3 | 0 | 1000 | A light crate is charged as if a cubic metre weighed this much.
freight.tare | 9 | kg/m2 | 0 | 100 | Weight of a square metre of crate.
freight.oversize_above | 1.75 | m | 0.1 | 20 | A crate longer than this is oversize.
freight.oversize | 28 | money | 0 | cap | What the carrier adds for an oversize crate.
freight.insurance | 1.2 | percent | 0 | 50 | Insurance in transit, of the value of what is in the crate.
freight.insurance_least | 6 | money | 0 | cap | Least the insurer asks for one consignment.
freight.duty.* | 0 | percent | 0 | 200 | Import duty the shop expects to pay in this zone, of the value of the goods.
"""

_PRICE = """
labour.rate.* | 30 | money/h | 0 | cap | What an hour of this skill costs the shop, with all that goes with a wage.
shop.rate | 14 | money/h | 0 | cap | Rent, heat, machines and insurance, for each hour of work.
markup.material | 30 | percent | 0 | 900 | Mark-up on timber, glue and varnish.
markup.labour | 35 | percent | 0 | 900 | Mark-up on labour.
markup.shop | 10 | percent | 0 | 900 | Mark-up on the shop rate.
markup.option | 25 | percent | 0 | 900 | Mark-up on guards, bolts and plates.
markup.artwork | 20 | percent | 0 | 900 | Mark-up on artwork.
markup.crate | 15 | percent | 0 | 900 | Mark-up on the crate.
markup.freight | 5 | percent | 0 | 900 | Mark-up on freight.
margin.least | 15 | percent | 0 | 90 | Share of the net price, less freight and rush, left above cost before discount.
quantity.break.* | 0 | percent | 0 | 90 | Taken off the price when so many or more are ordered together.
rush.order_day | 15 | money/d | 0 | cap | Asked of a rush order for each day it delays each other order, by the forecast.
rounding.step | 1 | money | 0 | 10000 | The net price is rounded to this step; 0 for none.
deposit.percent | 40 | percent | 0 | 100 | Deposit asked for, of the total with tax.
deposit.least | 0 | money | 0 | cap | Least deposit, never more than the total.
deposit.kept_uncut | 10 | percent | 0 | 100 | Share of the deposit kept on cancelling before wood is cut.
deposit.kept_cut | 100 | percent | 0 | 100 | Share of the deposit kept on cancelling once wood is cut.
change.fee | 45 | money | 0 | cap | Fee for a change after the drawing was approved.
storage.free_weeks | 4 | week | 0 | 104 | Weeks a ready, unpaid propeller is kept for nothing.
storage.per_week | 8 | money | 0 | cap | Storage of a ready, unpaid propeller for each week begun after that.
"""


def _read(heading: str, table: str) -> Iterator[Definition]:
    for row in table.strip().splitlines():
        key, value, unit, low, high, sentence = (cell.strip() for cell in row.split("|"))
        top = MONEY_CAP if high == "cap" else Decimal(high)
        yield Definition(key, heading, Decimal(value), unit, Decimal(low), top, sentence)


_TABLES = {
    "Waits": _WAITS,
    "Minutes at the bench": _MINUTES,
    "Take-off": _TAKEOFF,
    "Crate and freight": _FREIGHT,
    "Price": _PRICE,
}

DEFINITIONS: dict[str, Definition] = {
    d.key: d for heading, table in _TABLES.items() for d in _read(heading, table)
}
"""Every known key with its definition, in the order of the build."""


def definition_of(key: str) -> Definition | None:
    """The definition of a key or of the family it belongs to; None for an unknown key.

    >>> definition_of("timber.price.cherry").unit
    'money/bf'
    """
    if key.endswith("*"):
        return None
    if key in DEFINITIONS:
        return DEFINITIONS[key]
    parts = key.split(".")
    return next(
        (
            DEFINITIONS[f]
            for n in range(len(parts) - 1, 0, -1)
            if (f := ".".join(parts[:n]) + ".*") in DEFINITIONS
        ),
        None,
    )
