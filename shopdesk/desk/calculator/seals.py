"""O-rings in their glands, and how long a seal keeps."""

from collections.abc import Sequence
from datetime import date

from shopdesk.calc import gland_charts, glands, seals, shelf
from shopdesk.calc.glands import Gland
from shopdesk.calc.seals import Ring
from shopdesk.calc.shelf import Life, UseBy
from shopdesk.desk.calculator import glands as charts
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import (
    Calculation,
    Field,
    Found,
    Kind,
    Value,
    incomplete,
    one_of,
)
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import length_field
from shopdesk.errors import BadInput, OutOfRange

_NO_EXTENSION = "no extension"


def _oring(given: Given) -> Found:
    ring = seals.ring(given.words("dash"))
    gland = _gland(given, ring)
    unit = given.measured("width").unit
    results = {
        "stretch": values.percent(gland.stretch),
        "section": values.quantity(gland.section_m, unit),
        "squeeze": values.percent(gland.squeeze),
        "fill": values.percent(gland.fill),
        "gland_depth": values.quantity(gland.depth_m, unit),
    }
    if gland.kind != "piston":
        results["crush"] = values.percent(gland.crush)
    if gland.handbook_section_m is not None and gland.handbook_squeeze is not None:
        results["handbook_section"] = values.quantity(gland.handbook_section_m, unit)
        results["handbook_squeeze"] = values.percent(gland.handbook_squeeze)
    said, chart, cautions = _advised(given, ring, gland, results)
    return Found(
        results,
        f"{ring.name}: inside {values.millimetres(ring.inside_m)}, section "
        f"{values.millimetres(ring.section_m)}; W'² (D' + W') = W² (D + W) gives "
        f"{values.millimetres(gland.section_m)}; squeeze = (W' - depth)/W', depth "
        f"{values.millimetres(gland.depth_m)}; fill = π/4 W'²/(depth × width){said}",
        f"AS568 sizes ({ring.confidence} confidence); constant volume of rubber, computed; "
        "handbook figures by the curve of a US O-ring handbook (from memory), the safer ones"
        f"{chart}",
        (*gland.cautions, *cautions, *((ring.note,) if ring.note else ())),
    )


def _advised(
    given: Given, ring: Ring, gland: Gland, results: dict[str, Value]
) -> tuple[str, str, tuple[str, ...]]:
    """The chart's span beside the squeeze, where the service is said: sum, source, cautions."""
    if not given.has("service"):
        return "", "", ()
    service = given.words("service")
    gland_charts.use_of(gland.kind, service)
    try:
        charts.refuse_boss(ring)
        advice = gland_charts.advised(gland.kind, service, ring.section_m)
    except (BadInput, OutOfRange) as fault:  # its own figures stand without a chart
        return "", "", (str(fault),)
    verdict = charts.judged(gland.squeeze, gland.squeeze, advice)
    results["squeeze_low"] = values.percent(advice.squeeze[0], 0)
    results["squeeze_high"] = values.percent(advice.squeeze[1], 0)
    results["fill_high"] = values.percent(seals.FULLEST_GLAND, 0)
    results["squeeze_verdict"] = values.words(verdict)
    said = () if verdict == "within" else (
        f"Squeeze is {verdict}: {charts.squeeze_text(advice)} is usual for {advice.use}.",
    )  # fmt: skip
    unit = given.measured("width").unit
    return (
        f"; {charts.advised_text(advice, unit)}",
        f"; {charts.source(advice)}",
        (*said, *charts.between(advice)),
    )


def _gland(given: Given, ring: Ring) -> Gland:
    width = given.si("width")
    match given.words("gland"):
        case "piston":
            groove, bore = _needed(given, "groove", "bore")
            return glands.piston_gland(ring, groove, bore, width)
        case "rod":
            groove, rod = _needed(given, "groove", "rod")
            return glands.rod_gland(ring, groove, rod, width)
    (depth,) = _needed(given, "depth")
    outside = given.si("groove") if given.has("groove") else None
    inside = given.si("inside") if given.has("inside") else None
    if outside is None and inside is None:
        raise one_of("oring", "groove (its outside)", "inside (its inside)")
    return glands.face_gland(ring, depth, width, outside, inside)


def _needed(given: Given, *names: str) -> tuple[float, ...]:
    empty = [ORING.field(name) for name in names if not given.has(name)]
    if empty:
        raise incomplete(f"oring in a {given.words('gland')} gland", empty)
    return tuple(given.si(name) for name in names)


ORING = Calculation(
    "oring",
    "Stretch, squeeze and fill of an O-ring in its gland",
    (
        Field("dash", Kind.WORDS, "AS568 number: -214.", metavar="DASH"),
        Field(
            "gland",
            Kind.WORDS,
            "Groove in the piston, in the rod's housing, or in a face.",
            options=("piston", "rod", "face"),
        ),
        length_field("groove", "Groove diameter; of a face gland its outside.", required=False),
        length_field("bore", "Bore, for a piston gland.", required=False),
        length_field("rod", "Rod, for a rod gland.", required=False),
        length_field("width", "Groove width."),
        length_field("depth", "Groove depth, for a face gland.", required=False),
        length_field("inside", "Or inside of a face groove, pressed from outside.", required=False),
        charts.service_field(default=""),
    ),
    _oring,
    {"dash": "-214", "gland": "piston", "groove": "1.010 in", "bore": "1.238 in",
     "width": "0.1895 in", "service": "static"},
)  # fmt: skip


def _shelf_life(given: Given) -> Found:
    compound, cured = given.words("compound"), given.words("cured")
    if given.has("standard"):
        return _under_one(shelf.use_by(compound, cured, given.words("standard")))
    found = shelf.compare(compound, cured)
    return _under_each(found) if found[0].life.limited else _under_one(found[0])


def _under_one(found: UseBy) -> Found:
    return Found(
        {
            "use_by": values.words(found.as_text),
            "use_by_extended": values.words(_extended(found.use_by, found.use_by_extended)),
        },
        _counted(found),
        _standard(found),
        found.cautions,
    )


def _under_each(found: Sequence[UseBy]) -> Found:
    results = {}
    for each in found:
        name = shelf.short_name(each.life.standard).lower().replace(" ", "_").replace("-", "_")
        results[f"use_by_{name}"] = values.words(each.as_text)
        results[f"use_by_extended_{name}"] = values.words(
            _extended(each.use_by, each.use_by_extended)
        )
    return Found(
        results,
        "; ".join(f"{shelf.short_name(each.life.standard)}: {_counted(each)}" for each in found),
        "; ".join(_standard(each) for each in found),
        tuple(
            dict.fromkeys(
                (
                    "Go by the standard the customer or the drawing names; never mix two on one "
                    "shelf.",
                    *(caution for each in found for caution in each.cautions),
                )
            )
        ),
    )


def _counted(found: UseBy) -> str:
    life = found.life
    years = f"{life.initial_years} years" if life.limited else shelf.NO_LIMIT
    return f"end of {found.cured} ({found.cured.end.isoformat()}) + {years} = {found.as_text}" + (
        f"; once inspected + {life.extension_years} years" if life.extension_years else ""
    )


def _standard(found: UseBy) -> str:
    life = found.life
    if not life.limited and not life.edition:
        return f"no standard limits {life.material}: {life.source} ({life.confidence} confidence)"
    return (
        f"{life.standard}, edition {life.edition}, {_group(life)}{life.source} "
        f"({life.confidence} confidence)"
    )


def _group(life: Life) -> str:
    return f"group {life.group}: " if life.group else ""


def _extended(use_by: date | None, extended: date | None) -> str:
    if use_by is None:
        return shelf.NO_LIMIT
    return _NO_EXTENSION if extended is None else extended.isoformat()


SHELF_LIFE = Calculation(
    "shelf-life",
    "Last day a seal may be stored",
    (
        Field("compound", Kind.WORDS, "NBR, FKM, nitrile.", metavar="COMPOUND"),
        Field("cured", Kind.WORDS, "Cure quarter: 4Q2017.", metavar="QUARTER"),
        Field(
            "standard", Kind.WORDS, f"{', '.join(shelf.STANDARDS)}; without one, each.", False,
            metavar="STANDARD",
        ),
    ),
    _shelf_life,
    {"compound": "NBR", "cured": "2Q2019", "standard": "ISO 2230"},
)  # fmt: skip


def _ring_size(given: Given) -> Found:
    if given.has("dash"):
        ring, fit, others = seals.ring(given.words("dash")), "", ""
        unit = "in"
    elif given.has("inside", "section"):
        best, *rest = seals.look_up(given.si("inside"), given.si("section"))
        ring, unit = best.ring, given.measured("inside").unit
        fit = "within its tolerance" if best.inside_tolerance else "outside its tolerance"
        others = ", ".join(f"-{each.ring.dash}" for each in rest)
    else:
        raise one_of("ring-size", "dash", "inside and section")
    results = {
        "dash": values.words(f"-{ring.dash}"),
        "inside": values.quantity(ring.inside_m, unit),
        "section": values.quantity(ring.section_m, unit),
        "outside": values.quantity(ring.outside_m, unit),
        "inside_tolerance": values.quantity(ring.inside_tol_m, unit),
        "section_tolerance": values.quantity(ring.section_tol_m, unit),
    }
    if fit:
        results |= {"fit": values.words(fit), "next_nearest": values.words(others)}
    return Found(
        results,
        f"outside = inside + 2 sections = {values.millimetres(ring.outside_m)}",
        f"AS568 sizes ({ring.confidence} confidence)",
        (
            *((ring.note,) if ring.note else ()),
            *(("A used ring is swollen or flattened: measure a new one or the groove.",) if fit
              else ()),
        ),
    )  # fmt: skip


RING_SIZE = Calculation(
    "ring-size",
    "The AS568 ring of a dash number, or the one nearest to what was measured",
    (
        Field("dash", Kind.WORDS, "AS568 number: -214.", False, metavar="DASH"),
        length_field("inside", "Or its inside diameter as measured", required=False),
        length_field("section", "and its section.", required=False),
    ),
    _ring_size,
    {"inside": "25.1 mm", "section": "3.55 mm"},
)


def _gap(given: Given) -> Found:
    bore, inner = given.si("bore"), given.si("inner")
    found = glands.extrusion_gap(bore, inner)
    return Found(
        {
            "gap": values.quantity(found.radial_m, "mm", "in"),
            "gap_one_sided": values.quantity(found.one_sided_m, "mm", "in"),
        },
        f"(bore - inner)/2 = ({values.millimetres(bore)} - {values.millimetres(inner)})/2; all of "
        "the difference where the part lies to one side",
        "definition",
        (
            "Take the largest bore and the smallest part; parts breathe under pressure on top. "
            "What gap a compound stands at a pressure is the seal maker's chart to say.",
        ),
    )


GAP = Calculation(
    "extrusion-gap",
    "The gap behind a ring between a bore and a piston or rod",
    (
        length_field("bore", "The largest it may be."),
        length_field("inner", "The smallest piston or rod in it."),
    ),
    _gap,
    {"bore": "40.039 mm", "inner": "39.95 mm"},
)

CALCULATIONS = (ORING, GAP, RING_SIZE, SHELF_LIFE)
