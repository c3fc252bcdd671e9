"""What the bench and the laboratory report."""

from shopdesk.calc import bench, bore, cleanliness
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, one_of
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import length_field
from shopdesk.errors import BadInput

_PER_ML = "1 mL"


def _cleanliness(given: Given) -> Found:
    volume_ml = given.si("per") * 1e6
    counts = [cleanliness.per_ml(count, volume_ml) for count in given.numbers("counts")]
    counted = None
    if given.has("counted"):
        counted = [int(number) for number in given.numbers("counted")]
    found = cleanliness.code(counts, counted)
    said = ", ".join(f"{count:g}" for count in counts)
    few = (
        (f"Marked >=: fewer than {cleanliness.FEWEST_COUNTED} particles were counted.",)
        if ">=" in found
        else ()
    )
    return Found(
        {"code": values.words(found)},
        f"{said} per mL at 4, 6 and 14 µm(c) and larger: {found}",
        "ISO 4406 table of scale numbers, as printed in two open places; its limits are not exact "
        "doublings",
        few,
    )


CLEANLINESS = Calculation(
    "cleanliness",
    "ISO 4406 code from particle counts",
    (
        Field(
            "counts",
            Kind.NUMBERS,
            "Three: at 4, 6 and 14 µm(c) and larger.",
            positional=True,
            metavar="COUNTS",
        ),
        Field(
            "per",
            Kind.QUANTITY,
            "The volume they are for, 100 mL as laboratories report.",
            False,
            _PER_ML,
            "mL",
            metavar="VOLUME",
        ),
        Field("counted", Kind.NUMBERS, "Particles counted in all at each size.", False),
    ),
    _cleanliness,
    {"counts": "21500 2100 68"},
)


def _drops(given: Given) -> Found:
    seconds, drop = given.si("in"), given.si("size")
    if given.has("drops", "flow"):
        raise BadInput("Both drops and flow were given; one follows from the other.")
    if not (given.has("drops") or given.has("flow")):
        raise one_of("drops", "drops", "flow")
    if given.has("flow"):
        allowed = given.si("flow")
        count = bench.flow_to_drops(allowed, seconds, drop)
        results = {"drops": values.plain(count, figures=4)}
        said = f"Q t/v = {allowed * 60e6:.5g} mL/min × {seconds:g} s/{drop * 1e6:.5g} mL"
    else:
        count = given.si("drops")
        flow = bench.drops_to_flow(count, seconds, drop)
        results = {"flow": values.quantity(flow, "mL/min")}
        said = f"n v/t = {count:g} × {drop * 1e6:.5g} mL/{seconds:g} s = {flow * 60e6:.5g} mL/min"
    return Found(
        results,
        said,
        "definition",
        (
            "A drop is what you say it is: catch 20 or more of this oil from this edge and measure "
            "them. 0.03 to 0.1 mL is seen for oil (common practice, no source).",
        ),
    )


DROPS = Calculation(
    "drops",
    "Flow from counted drops of a known size, or the drops of a flow",
    (
        Field("drops", Kind.NUMBER, "How many were counted.", False, metavar="N"),
        Field(
            "flow",
            Kind.QUANTITY,
            "Or a flow that is allowed: its drops.",
            False,
            unit="mL/min",
            units=("L/min",),
            metavar="FLOW",
        ),
        Field(
            "in",
            Kind.QUANTITY,
            "In what time.",
            unit="min",
            units=("s", "h"),
            metavar="TIME",
        ),
        Field(
            "size", Kind.QUANTITY, "Volume of one drop, as measured.", unit="mL", metavar="VOLUME"
        ),
    ),
    _drops,
    {"drops": "12", "in": "1 min", "size": "0.05 mL"},
)


def _fit_leak(given: Given) -> Found:
    drop = given.measured("drop")
    found = bore.fit_leak(
        given.si("diameter"),
        given.si("clearance"),
        drop.value_si,
        given.si("viscosity"),
        given.si("length"),
    )
    return Found(
        {
            "flow": values.quantity(found.concentric_m3_s, "mL/min"),
            "flow_one_sided": values.quantity(found.eccentric_m3_s, "mL/min"),
        },
        f"Q = π d c³ Δp/(12 μ L), c = {values.millimetres(given.si('clearance'))}, Δp = "
        f"{values.bar(drop.value_si)}: {found.concentric_m3_s * 60e6:.5g} mL/min; 2.5 Q lying to "
        "one side",
        "laminar flow in a narrow gap: Merritt, Hydraulic Control Systems (from memory)",
        ("Clearance is radial, half the difference of the diameters; twice of it leaks 8 times.",),
    )


FIT_LEAK = Calculation(
    "fit-leak",
    "Leak past a close-fit spool or piston",
    (
        length_field("diameter", "Of the fit."),
        length_field("clearance", "Radial clearance."),
        Field(
            "drop",
            Kind.QUANTITY,
            "Pressure across it.",
            unit="Δbar",
            units=("Δpsi",),
            metavar="PRESSURE",
        ),
        Field("viscosity", Kind.VISCOSITY, "Dynamic: 30 mPa·s.", metavar="VISCOSITY"),
        length_field("length", "Of the fit."),
    ),
    _fit_leak,
    {
        "diameter": "20 mm",
        "clearance": "10 µm",
        "drop": "200 bar",
        "viscosity": "0.03 Pa·s",
        "length": "15 mm",
    },
)

CALCULATIONS = (CLEANLINESS, DROPS, FIT_LEAK)
