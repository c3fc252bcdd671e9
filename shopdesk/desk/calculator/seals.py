"""O-rings in their glands, and how long a seal keeps."""

from datetime import date

from shopdesk.calc import glands, seals, shelf
from shopdesk.calc.glands import Gland
from shopdesk.calc.seals import Ring
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, incomplete, one_of
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import length_field

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
    return Found(
        results,
        f"{ring.name}: inside {values.millimetres(ring.inside_m)}, section "
        f"{values.millimetres(ring.section_m)}; W'² (D' + W') = W² (D + W) gives "
        f"{values.millimetres(gland.section_m)}; squeeze = (W' - depth)/W', depth "
        f"{values.millimetres(gland.depth_m)}; fill = π/4 W'²/(depth × width)",
        f"AS568 sizes ({ring.confidence} confidence); constant volume of rubber, computed; "
        "handbook figures by the curve of a US O-ring handbook (from memory), the safer ones",
        (*gland.cautions, *((ring.note,) if ring.note else ())),
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
    if (outside is None) == (inside is None):
        raise one_of("oring", "groove (its outside)", "inside (its inside), not both,")
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
    ),
    _oring,
    {"dash": "-214", "gland": "piston", "groove": "1.010 in", "bore": "1.238 in",
     "width": "0.1895 in"},
)  # fmt: skip


def _shelf_life(given: Given) -> Found:
    compound, cured = given.words("compound"), given.words("cured")
    found = shelf.use_by(compound, cured, given.words("standard"))
    life = found.life
    years = f"{life.initial_years} years" if life.limited else shelf.NO_LIMIT
    return Found(
        {
            "use_by": values.words(found.as_text),
            "use_by_extended": values.words(_extended(found.use_by, found.use_by_extended)),
        },
        f"end of {found.cured} ({found.cured.end.isoformat()}) + {years} = {found.as_text}"
        + (f"; once inspected + {life.extension_years} years" if life.extension_years else ""),
        f"{life.standard}, edition {life.edition}, group {life.group}: {life.source} "
        f"({life.confidence} confidence)",
        found.cautions,
    )


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
            "standard", Kind.WORDS, f"{', '.join(shelf.STANDARDS)}.", metavar="STANDARD"
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
