"""O-rings in their glands, and the sizes they come in."""

from shopdesk.calc import gland_charts, glands, seals
from shopdesk.calc.glands import Gland
from shopdesk.calc.seals import Ring
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

_VERDICT = "squeeze_verdict"


def _oring(given: Given) -> Found:
    ring = seals.ring(given.words("dash"))
    gland = _gland(given, ring)
    unit = given.measured("width").unit
    charted, said, chart, cautions = _charted(given, ring, gland)
    results = {
        "stretch": values.percent(gland.stretch),
        "squeeze": values.percent(gland.squeeze),
        **{name: charted[name] for name in charted if name == _VERDICT},
        "fill": values.percent(gland.fill),
        "section": values.quantity(gland.section_m, unit),
        "section_loss": values.percent(1.0 - gland.section_m / ring.section_m),
        "gland_depth": values.quantity(gland.depth_m, unit),
    }
    if gland.kind != "piston":
        results["crush"] = values.percent(gland.crush)
    if gland.handbook_section_m is not None and gland.handbook_squeeze is not None:
        loss = 1.0 - gland.handbook_section_m / ring.section_m
        results["handbook_section_loss"] = values.percent(loss)
        results["handbook_section"] = values.quantity(gland.handbook_section_m, unit)
        results["handbook_squeeze"] = values.percent(gland.handbook_squeeze)
    results |= charted
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


def _charted(
    given: Given, ring: Ring, gland: Gland
) -> tuple[dict[str, Value], str, str, tuple[str, ...]]:
    """The chart's span beside the squeeze, where the service is said: results, sum, source,
    cautions."""
    if not given.has("service"):
        return {}, "", "", ()
    service = given.words("service")
    gland_charts.use_of(gland.kind, service)
    try:
        charts.refuse_boss(ring)
        advice = gland_charts.advised(gland.kind, service, ring.section_m)
    except (BadInput, OutOfRange) as fault:  # its own figures stand without a chart
        return {}, "", "", (str(fault),)
    verdict = charts.judged(gland.squeeze, gland.squeeze, advice)
    results = {
        _VERDICT: charts.verdict_value(verdict, advice),
        "squeeze_low": values.percent(advice.squeeze[0], 0),
        "squeeze_high": values.percent(advice.squeeze[1], 0),
        "fill_high": values.percent(seals.FULLEST_GLAND, 0),
    }
    said = () if verdict == "within" else (
        f"Squeeze is {verdict}: {charts.squeeze_text(advice)} is usual for {advice.use}.",
    )  # fmt: skip
    unit = given.measured("width").unit
    return (
        results,
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
    if given.has("faces"):
        if given.has("bore") or given.has("inner"):
            raise BadInput("Faces was given with a bore or a part in it; ask for one gland.")
        found = glands.face_gap(given.si("faces"))
        said = f"between faces: all of {values.millimetres(given.si('faces'))}, metal to metal 0"
    else:
        bore, inner = _round_parts(given)
        found = glands.extrusion_gap(bore, inner)
        said = (
            f"(bore - inner)/2 = ({values.millimetres(bore)} - {values.millimetres(inner)})/2; all "
            "of the difference where the part lies to one side"
        )
    return Found(
        {
            "gap": values.quantity(found.radial_m, "mm", "in"),
            "gap_one_sided": values.quantity(found.one_sided_m, "mm", "in"),
        },
        said,
        "definition",
        (
            "Take the largest bore and the smallest part; parts breathe under pressure on top. "
            "What gap a compound stands at a pressure is the seal maker's chart to say.",
        ),
    )


def _round_parts(given: Given) -> tuple[float, float]:
    empty = [GAP.field(name) for name in ("bore", "inner") if not given.has(name)]
    if len(empty) == 2:
        raise one_of("extrusion-gap", "bore and inner", "faces")
    if empty:
        raise incomplete("extrusion-gap", empty)
    return given.si("bore"), given.si("inner")


GAP = Calculation(
    "extrusion-gap",
    "The gap behind a ring between a bore and a piston or rod, or between faces",
    (
        length_field("bore", "The largest it may be.", required=False),
        length_field("inner", "The smallest piston or rod in it.", required=False),
        length_field("faces", "Or how far two faces stand apart.", required=False),
    ),
    _gap,
    {"bore": "40.039 mm", "inner": "39.95 mm"},
)

CALCULATIONS = (ORING, GAP, RING_SIZE)
