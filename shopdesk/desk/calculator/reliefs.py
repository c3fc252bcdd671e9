"""Settings put back to their depth, and pilot-operated checks."""

from shopdesk.calc import relief
from shopdesk.calc.relief import RepeatDepths
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value, incomplete
from shopdesk.desk.calculator.gas import basis, pressure_field
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import length_field


def _depth(given: Given) -> Found:
    read = relief.repeat_depths(given.many_si("reading"), given.si_or("resolution", 0.0))
    unit = given.first_unit("reading")
    results = {
        "mean": values.quantity(read.mean_m, unit),
        "spread": values.quantity(read.spread_m, unit),
        "half_width": values.quantity(read.half_width_m, unit),
    }
    said = (
        f"mean of {read.count} = {values.millimetres(read.mean_m)}, ± "
        f"{values.millimetres(read.half_width_m)} at 95 %"
    )
    if given.has("restored"):
        said += _restored(given, read, unit, results)
    cautions = () if given.has("resolution") else (
        "Without the instrument's resolution, readings all alike claim to be exact.",
    )  # fmt: skip
    return Found(results, said, "JCGM 100 (GUM), 4.2 to 4.3 and G.4 (from memory)", cautions)


def _restored(given: Given, read: RepeatDepths, unit: str, results: dict[str, Value]) -> str:
    """What a restored depth does to the pressure; adds its results and gives its sum."""
    empty = [DEPTH.field(name) for name in ("rate", "seat") if not given.has(name)]
    if empty:
        raise incomplete("depth with a restored setting", empty)
    slope = relief.pressure_per_depth(given.si("rate"), given.si("seat"))
    found = relief.restored_setting(
        read, given.si("restored"), given.si_or("tolerance", 0.0), slope
    )
    results["depth_shift"] = values.quantity(found.depth_shift_m, unit)
    results["pressure_shift"] = values.difference(found.shift_pa, "bar")
    results["pressure_half_width"] = values.difference(found.half_width_pa, "bar")
    return (
        f"; k/A = {slope * 1e-8:.5g} bar/mm × {values.millimetres(found.depth_shift_m)} = "
        f"{values.bar(found.shift_pa)} ± {values.bar(found.half_width_pa)}"
    )


DEPTH = Calculation(
    "depth",
    "Repeat readings of a depth, and what putting it back is worth in pressure",
    (
        Field(
            "reading",
            Kind.QUANTITY,
            "Two or more readings of the depth.",
            unit="mm",
            units=("in",),
            repeated=True,
            metavar="LENGTH",
        ),
        length_field("resolution", "The instrument's smallest step.", required=False),
        length_field("restored", "The depth it was put back to.", required=False),
        length_field("tolerance", "How well that is known, plus or minus.", required=False),
        Field("rate", Kind.SPRING_RATE, "The spring's rate: 12 N/mm.", False, metavar="RATE"),
        length_field("seat", "Diameter on which it seals.", required=False),
    ),
    _depth,
    {
        "reading": "7.42 mm\n7.45 mm\n7.44 mm",
        "resolution": "0.01 mm",
        "restored": "7.46 mm",
        "tolerance": "0.02 mm",
        "rate": "12 N/mm",
        "seat": "6 mm",
    },
)


def _pilot(given: Given) -> Found:
    load, piston, seat = given.pressure("load"), given.si("piston"), given.si("seat")
    spring_n = given.si("spring")
    found = relief.pilot_opening(load.pa_abs - load.atmosphere_pa, piston, seat, spring_n)
    return Found(
        {
            "ratio": values.plain(found.ratio),
            "pilot_pressure": load.like(found.pilot_pa + load.atmosphere_pa),
        },
        f"p = (p(load) A(seat) + F)/A(piston), ratio = ({values.millimetres(piston)}/"
        f"{values.millimetres(seat)})² = {found.ratio:.5g}, F = {spring_n:.4g} N: "
        f"{values.bar(found.pilot_pa)}",
        "force balance (common practice, no source)",
        (
            "Friction is left out, nothing stands behind the pilot piston: the bench reads more.",
            *basis(load),
        ),
    )


PILOT = Calculation(
    "pilot",
    "Pilot pressure that opens a pilot-operated check",
    (
        pressure_field("load", "The pressure it holds."),
        length_field("piston", "Pilot piston diameter."),
        length_field("seat", "Diameter on which it seals."),
        Field(
            "spring",
            Kind.QUANTITY,
            "Force of its spring.",
            False,
            "0 N",
            "N",
            ("lbf",),
            metavar="FORCE",
        ),
    ),
    _pilot,
    {"load": "200 bar", "piston": "20 mm", "seat": "10 mm", "spring": "8 N"},
)

CALCULATIONS = (DEPTH, PILOT)
