"""The boss: is the pattern complete, is wood left between its cuts, do bolts reach, does it look like another pattern."""

from collections.abc import Iterator

from quoting.propeller.checks.evidence import COMMON_PRACTICE, Evidence, gravest, is_doubtful
from quoting.propeller.checks.words import length
from quoting.propeller.figure import Figure, known
from quoting.propeller.finding import Finding, Severity

INCH = 0.0254
EDGE_WOOD = 0.30 * INCH
"""Least wood between rim and bolt hole; metal bosses leave 0.24 in, wooden ones are made larger. Common practice."""
ROOT_SWELL = 1.15
"""Depth of the blade over the boss it leaves up to which the root swells as on usual propellers; common practice."""
WEB = 6e-3
LONG_BOLT = 0.030
LOOK_ALIKE, LOOK_ALIKE_CAUTION = 0.15e-3, 1e-3
LOOK_ALIKES = (
    ("4-3/4 in (120.65 mm)", 4.75 * INCH, "120 mm", 0.120),
    ("4-3/8 in (111.13 mm)", 4.375 * INCH, "110 mm", 0.110),
    ("4 in (101.6 mm)", 4.0 * INCH, "100 mm", 0.100),
    ("3 in (76.2 mm)", 3.0 * INCH, "75 mm", 0.075),
)
ARITHMETIC = "computed from the pattern's own figures"


def completeness(evidence: Evidence) -> Iterator[Finding]:
    """A pattern whose circle, holes or count are missing or doubtful."""
    hub = evidence.specification.hub
    if hub.is_complete:
        return
    doubtful = [word for word, figure in (("circle", hub.circle), ("hole", hub.hole)) if is_doubtful(figure)]
    missing = ["number of bolts"] * (hub.bolts is None) + doubtful
    message = (
        f"The pattern {hub.name} is not complete ({', '.join(missing)} not known for certain): measure your flange or "
        "send the hub. No drill template is made before."
    )
    yield Finding("hub-incomplete", Severity.CAUTION, "hub", None, None, "", message, COMMON_PRACTICE)


def edge_wood(evidence: Evidence) -> Iterator[Finding]:
    """Wood between rim and bolt holes, between bore and holes, between hole and hole."""
    boss, units = evidence.boss, evidence.units
    if evidence.specification.hub.is_blank:
        return
    if boss.edge_wood is None or boss.edge_wood_at_hole is None:
        message = "Edge wood was not checked: the bolt pattern is not complete."
        yield Finding(
            "edge-wood", Severity.NOT_CHECKED, "hub", None, EDGE_WOOD, "m", message, COMMON_PRACTICE
        )
        return
    if boss.edge_wood <= 0:
        message = "A bolt hole or its drive-lug counterbore breaks out of the rim of the boss: make the boss larger."
        severity = gravest(*_cuts(evidence))
        yield Finding("edge-wood", severity, "boss_diameter", boss.edge_wood, 0.0, "m", message, ARITHMETIC)
    elif boss.edge_wood < EDGE_WOOD:
        message = (
            f"Only {length(boss.edge_wood, units)} of wood stay between the rim of the "
            f"boss and the bolt holes with their counterbores; we like {length(EDGE_WOOD, units)}: a "
            f"larger boss is better."
        )
        yield Finding(
            "edge-wood",
            Severity.CAUTION,
            "boss_diameter",
            boss.edge_wood,
            EDGE_WOOD,
            "m",
            message,
            COMMON_PRACTICE,
        )
    else:
        message = (
            f"{length(boss.edge_wood, units)} of wood stay between the rim of the boss "
            "and the bolt holes with their counterbores."
        )
        yield Finding(
            "edge-wood", Severity.NOTE, "", boss.edge_wood, EDGE_WOOD, "m", message, COMMON_PRACTICE
        )
    for code, web, between in (
        ("bore-web", boss.bore_web, "the bore and the bolt holes"),
        ("hole-web", boss.hole_web, "neighbouring bolt holes"),
    ):
        if web is not None and web < WEB:
            leaning = (
                (*_cuts(evidence), evidence.specification.hub.pilot)
                if code == "bore-web"
                else _cuts(evidence)
            )
            severity = gravest(*leaning) if web <= 0 else Severity.CAUTION
            message = (
                f"No wood stays between {between}."
                if web <= 0
                else f"Only {length(web, units)} of wood stay between {between}; we like {length(WEB, units)}."
            )
            yield Finding(
                code, severity, "hub", web, WEB, "m", message, ARITHMETIC if web <= 0 else COMMON_PRACTICE
            )


def _cuts(evidence: Evidence) -> tuple[Figure | None, ...]:
    """The figures that say how much is cut at a bolt: circle, and the larger of hole and lug."""
    hub, boss = evidence.specification.hub, evidence.boss
    lugged = boss.lug is not None and boss.lug > (boss.hole or 0.0)
    return hub.circle, hub.lug_diameter if lugged else hub.hole


def blade_depth(evidence: Evidence) -> Iterator[Finding]:
    """A boss thinner than the blade that leaves it: where its thickness is ours to choose it never is."""
    boss, deep, units = evidence.boss, evidence.blade_depth, evidence.units
    if deep <= ROOT_SWELL * boss.thickness:
        return
    message = (
        f"Where it leaves the boss the blade is {length(deep, units)} deep, front to back, and the boss only "
        f"{length(boss.thickness, units)}: the root swells out ahead of it and behind it. Ask for a boss as deep as the "
        "blade, or measure that plate, spinner and whatever stands behind clear the blades."
    )
    yield Finding(
        "blade-deeper-than-boss",
        Severity.CAUTION,
        "boss_thickness",
        deep,
        boss.thickness,
        "m",
        message,
        COMMON_PRACTICE,
    )


def depths(evidence: Evidence) -> Iterator[Finding]:
    """Pilot and drive lugs against the thickness of the boss."""
    boss, hub = evidence.boss, evidence.specification.hub
    for code, figure, word in (
        ("pilot-depth", hub.pilot_depth, "pilot"),
        ("lug-depth", hub.lug_depth if hub.lug_diameter else None, "drive lugs"),
    ):
        cut = hub.pilot if code == "pilot-depth" else hub.lug_diameter
        if code == "pilot-depth" and boss.bore is not None and is_doubtful(figure):
            message = (
                f"The bore of {length(boss.bore, evidence.units)} is cut right through the boss, for how deep the pilot "
                "reaches is not known: a pilot of any depth goes in."
            )
            yield Finding(code, Severity.NOTE, "", None, None, "m", message, COMMON_PRACTICE)
        elif cut is not None and is_doubtful(figure):
            reach = "reach" if word.endswith("s") else "reaches"
            message = f"How deep the {word} {reach} into the boss was not checked: measure it."
            yield Finding(code, Severity.NOT_CHECKED, "hub", None, None, "m", message, COMMON_PRACTICE)
        elif figure is not None and figure.value > 0.5 * boss.thickness:
            deeper = figure.value >= boss.thickness
            message = (
                f"The {word} reach{'' if word.endswith('s') else 'es'} "
                f"{length(figure.value, evidence.units)} into a boss of "
                f"{length(boss.thickness, evidence.units)}: "
                f"{'it goes right through' if deeper else 'little wood is left to clamp'}."
            )
            severity = (
                Severity.STOP
                if deeper and figure.trust.may_stop and code == "lug-depth"
                else Severity.CAUTION
            )
            yield Finding(
                code, severity, "boss_thickness", figure.value, boss.thickness, "m", message, figure.source
            )


def bolt_length(evidence: Evidence) -> Iterator[Finding]:
    """Bolts against plate, boss and spacer."""
    boss, hardware, units = evidence.boss, evidence.specification.hardware, evidence.units
    needed = boss.bolt_length_needed
    if needed is None:
        message = "Bolt length was not checked: the bolts of this pattern are not known."
        yield Finding("bolt-length", Severity.NOT_CHECKED, "hub", None, None, "m", message, COMMON_PRACTICE)
        return
    stack = boss.face_plate_thickness + boss.thickness + boss.spacer_thickness
    given = hardware.bolt_length
    if given is None:
        message = (
            f"Plate, boss and spacer are {length(stack, units)} thick: bolts of at least "
            f"{length(needed, units)} are needed, more if your flange is thick."
        )
        yield Finding("bolt-length", Severity.NOTE, "hardware", None, needed, "m", message, COMMON_PRACTICE)
    elif given < needed:
        short = given <= stack
        message = (
            f"Your bolts of {length(given, units)} do not reach through plate, boss and spacer "
            f"({length(stack, units)})."
            if short
            else f"Your bolts of {length(given, units)} leave no full thread: at least "
            f"{length(needed, units)} are needed."
        )
        severity = Severity.STOP if short else Severity.CAUTION
        yield Finding(
            "bolt-length",
            severity,
            "hardware",
            given,
            needed,
            "m",
            message,
            ARITHMETIC if short else COMMON_PRACTICE,
        )
    elif given > needed + LONG_BOLT:
        message = (
            f"Your bolts of {length(given, units)} are {length(given - needed, units)} longer than needed: "
            f"the nuts may "
            "run out of thread before they clamp."
        )
        yield Finding(
            "bolt-length", Severity.CAUTION, "hardware", given, needed, "m", message, COMMON_PRACTICE
        )


def spinner(evidence: Evidence) -> Iterator[Finding]:
    """The boss must fit under the spinner."""
    boss = evidence.boss
    if boss.spinner_diameter and boss.spinner_diameter < boss.diameter:
        wide, boss_wide = (length(d, evidence.units) for d in (boss.spinner_diameter, boss.diameter))
        message = f"A spinner of {wide} does not go over a boss of {boss_wide}."
        yield Finding(
            "spinner",
            Severity.CAUTION,
            "hardware",
            boss.spinner_diameter,
            boss.diameter,
            "m",
            message,
            ARITHMETIC,
        )


def face_plate(evidence: Evidence) -> Iterator[Finding]:
    """The front plate must cover the bolt holes, and lie on wood."""
    hub, boss = evidence.specification.hub, evidence.boss
    plate = known(hub.plate_diameter)
    if plate is None or boss.circle is None or boss.hole is None:
        return
    covered = boss.circle + boss.hole
    if plate < covered:
        wide = length(plate, evidence.units)
        message = (
            f"A face plate of {wide} does not cover the bolt holes, which reach to "
            f"{length(covered, evidence.units)}."
        )
        yield Finding(
            "face-plate",
            gravest(hub.plate_diameter, hub.circle, hub.hole),
            "hub",
            plate,
            covered,
            "m",
            message,
            ARITHMETIC,
        )
    elif plate > boss.diameter + 1e-4:
        message = (
            f"A face plate of {length(plate, evidence.units)} stands over the rim of a boss of "
            f"{length(boss.diameter, evidence.units)}: the "
            "clamp is worked out for the boss alone."
        )
        yield Finding(
            "face-plate", Severity.NOTE, "boss_diameter", plate, boss.diameter, "m", message, ARITHMETIC
        )


def clocking(evidence: Evidence) -> Iterator[Finding]:
    """Where the holes stand to the blades: common practice differs, so it is said."""
    angle = evidence.boss.nearest_hole_angle
    if angle is None:
        return
    place = (
        "a bolt hole on the blade's centre line"
        if angle < 0.5
        else f"the nearest bolt hole {angle:.0f} degrees from the blade's centre line"
    )
    blades, bolts = evidence.specification.blades, evidence.boss.bolts or 1
    uneven = (
        ""
        if bolts % blades == 0
        else f" With {bolts} bolts and {blades} blades the holes stand differently to each blade."
    )
    message = f"The bolt circle is drilled with {place}: check that the blades then stop where you want them.{uneven}"
    yield Finding("clocking", Severity.NOTE, "clocking", angle, None, "degrees", message, COMMON_PRACTICE)


def look_alike(evidence: Evidence) -> Iterator[Finding]:
    """Two patterns that a ruler confuses."""
    circle = evidence.boss.circle
    if circle is None:
        return
    for inch_name, inch, metric_name, metric in LOOK_ALIKES:
        for name, size, other_name, other in (
            (inch_name, inch, metric_name, metric),
            (metric_name, metric, inch_name, inch),
        ):
            if abs(circle - size) <= LOOK_ALIKE:
                close = abs(size - other) < LOOK_ALIKE_CAUTION
                message = (
                    f"A bolt circle of {name} is easily taken for {other_name}, "
                    f"{abs(size - other) * 1000:.2f} mm away: "
                    "measure across opposite holes before you order."
                )
                severity = Severity.CAUTION if close else Severity.NOTE
                yield Finding("look-alike-circle", severity, "hub", circle, other, "m", message, ARITHMETIC)
        small, large = sorted((inch, metric))
        if small + LOOK_ALIKE < circle < large - LOOK_ALIKE:
            message = (
                f"A bolt circle of {circle * 1000:.2f} mm lies between {inch_name} and {metric_name}: it "
                f"is probably one "
                "of the two, measure across opposite holes again."
            )
            nearer = min(small, large, key=lambda size: abs(size - circle))
            yield Finding(
                "look-alike-circle", Severity.CAUTION, "hub", circle, nearer, "m", message, ARITHMETIC
            )
