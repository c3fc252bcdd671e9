"""The gland a ring is usually given, and what squeeze and fill a cut one leaves over tolerances."""

from dataclasses import dataclass

from shopdesk import quantities
from shopdesk.calc import gland_charts, seals
from shopdesk.calc.gland_charts import Advised
from shopdesk.calc.seals import Ring, Span
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
from shopdesk.errors import BadInput

_HALF_PERCENT = 0.005
"""The charts print whole percents."""

Ends = tuple[float, float]


@dataclass(frozen=True)
class _Section:
    """A ring's section, with its tolerance and the unit lengths are shown in."""

    nominal_m: float
    tolerance_m: float
    unit: str
    said: str


def refuse_boss(ring: Ring) -> None:
    """BadInput for a ring of a straight-thread fitting: its seat is no gland of these charts."""
    if ring.kind != "general":
        raise BadInput(
            f"{ring.name} was read; it belongs in a straight-thread fitting, whose own standard "
            "gives its seat: the gland charts do not."
        )


def _gland(given: Given) -> Found:
    section = _section(given)
    use = given.words("gland"), given.words("service")
    advice = gland_charts.advised(*use, section.nominal_m)
    depths, widths = _ends(given, "depth"), _ends(given, "width")
    if widths and not depths:
        raise incomplete("gland", [GLAND.field("depth")])
    results: dict[str, Value] = {}
    sums, cautions = [section.said, advised_text(advice, section.unit)], list(between(advice))
    if depths:
        sums.append(_squeezed(section, depths, advice, results))
    if depths and widths:
        sums.append(_filled(section, depths, widths, results, cautions))
    return Found(
        {**results, **_advised(advice, section.unit)},
        "; ".join(sums),
        source(advice),
        (
            *cautions,
            "Without a backup ring. The drawing or the unit's own manual stands above a chart; the "
            "gland is cut for the ring as it is stretched in place.",
        ),
    )


def _section(given: Given) -> _Section:
    if given.has("dash"):
        ring = seals.ring(given.words("dash"))
        refuse_boss(ring)
        said = (
            f"{ring.name}: section {values.millimetres(ring.section_m)} ± "
            f"{values.millimetres(ring.section_tol_m)}"
        )
        return _Section(ring.section_m, ring.section_tol_m, "in", said)
    if not given.has("section"):
        raise one_of("gland", "dash", "section")
    nominal, tolerance = given.si("section"), given.si_or("tolerance", 0.0)
    said = f"section {values.millimetres(nominal)}"
    if tolerance:
        said += f" ± {values.millimetres(tolerance)}"
    return _Section(nominal, tolerance, given.measured("section").unit, said)


def _ends(given: Given, name: str) -> Ends | None:
    """The least and the most of a measure, both alike where one was given."""
    if not given.has(name):
        return None
    found = given.many_si(name)
    if len(found) > 2:
        raise BadInput(
            f"{len(found)} entries of {name} were read; give one, or the least and the most."
        )
    return min(found), max(found)


def _advised(advice: Advised, unit: str) -> dict[str, Value]:
    return {
        "squeeze_low": values.percent(advice.squeeze[0], 0),
        "squeeze_high": values.percent(advice.squeeze[1], 0),
        "depth_low": values.quantity(advice.depth_m[0], unit),
        "depth_high": values.quantity(advice.depth_m[1], unit),
        "width_low": values.quantity(advice.width_m[0], unit),
        "width_high": values.quantity(advice.width_m[1], unit),
        "fill_target": values.percent(gland_charts.FILL_TARGET, 0),
        "fill_high": values.percent(seals.FULLEST_GLAND, 0),
    }


def advised_text(advice: Advised, unit: str) -> str:
    """What the chart says, for a sum."""
    depth, width = (
        f"{quantities.text(low, unit)} to {quantities.text(high, unit)}"
        for low, high in (advice.depth_m, advice.width_m)
    )
    return (
        f"chart for {advice.use}: squeeze {squeeze_text(advice)}, depth {depth}, groove {width} "
        "wide"
    )


def squeeze_text(advice: Advised) -> str:
    low, high = advice.squeeze
    return f"{100 * low:.0f} to {100 * high:.0f} %"


def verdict_value(verdict: str, advice: Advised) -> Value:
    """The verdict, and for people the span it was judged by."""
    return Value(verdict, "", f"{verdict}: {squeeze_text(advice)} is usual")


def between(advice: Advised) -> tuple[str, ...]:
    """Said where the chart has no row for the section."""
    if not advice.between:
        return ()
    return ("The chart has no row for this section: read between its neighbours.",)


def source(advice: Advised) -> str:
    return (
        f"gland chart for {advice.use} ({advice.confidence} confidence), {advice.source}; fill: "
        "several open pages (70 to 85 %, common practice); AS568 tolerances"
    )


def judged(least: float, most: float, advice: Advised) -> str:
    """Whether a squeeze lies within the chart's, which prints whole percents."""
    little = least < advice.squeeze[0] - _HALF_PERCENT
    much = most > advice.squeeze[1] + _HALF_PERCENT
    if little and much:
        return "too little and too much"
    return "too little" if little else "too much" if much else "within"


def _squeezed(section: _Section, depths: Ends, advice: Advised, results: dict[str, Value]) -> str:
    found = seals.squeeze_range(section.nominal_m, section.tolerance_m, *depths)
    results["squeeze_verdict"] = verdict_value(judged(found.low, found.high, advice), advice)
    results["squeeze_least"] = values.percent(found.low, 1)
    results["squeeze_most"] = values.percent(found.high, 1)
    return f"squeeze = (W - depth)/W, {_said(found)}"


def _filled(
    section: _Section,
    depths: Ends,
    widths: Ends,
    results: dict[str, Value],
    cautions: list[str],
) -> str:
    found = seals.fill_range(section.nominal_m, section.tolerance_m, depths, widths)
    middle = seals.fill(section.nominal_m, sum(depths) / 2.0, sum(widths) / 2.0)
    full = middle > seals.FULLEST_GLAND
    results["fill_verdict"] = values.words("too full" if full else "within")
    results["fill_least"] = values.percent(found.low, 1)
    results["fill_most"] = values.percent(found.high, 1)
    if found.high > 1.0:
        cautions.append("At its tolerances the ring does not go into the gland.")
    return f"fill = π/4 W²/(depth × width), {_said(found)}"


def _said(found: Span) -> str:
    return f"{100 * found.low:.4g} to {100 * found.high:.4g} %"


def _measures(name: str, help_: str) -> Field:
    return Field(
        name, Kind.QUANTITY, help_, False, unit="mm", units=("in",), repeated=True,
        metavar="LENGTH",
    )  # fmt: skip


def service_field(*, default: str) -> Field:
    return Field(
        "service",
        Kind.WORDS,
        "Whether the parts slide on the ring.",
        False,
        default,
        options=gland_charts.SERVICES,
    )


GLAND = Calculation(
    "gland",
    "Recommended squeeze, depth, width and fill of an O-ring's gland",
    (
        Field(
            "gland",
            Kind.WORDS,
            "Groove in the piston, in the rod's housing, or in a face.",
            options=gland_charts.GLANDS,
        ),
        service_field(default="static"),
        Field("dash", Kind.WORDS, "AS568 number: -214.", False, metavar="DASH"),
        length_field("section", "Or the ring's section.", required=False),
        length_field("tolerance", "Of that section, plus or minus.", required=False),
        _measures("depth", "Gland as cut, clearance included: one, or least and most."),
        _measures("width", "Its groove width: one, or least and most."),
    ),
    _gland,
    {
        "gland": "piston", "service": "reciprocating", "dash": "-214",
        "depth": "0.121 in\n0.123 in", "width": "0.187 in\n0.192 in",
    },
)  # fmt: skip

CALCULATIONS = (GLAND,)
