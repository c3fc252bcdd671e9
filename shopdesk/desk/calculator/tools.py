"""Torque tools: what range they serve, when they are checked, and a unit that slipped."""

from shopdesk.calc import torque
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import NEWTON_METRE, torque_field

_PERMITTED = "ISO 6789:2003, type II setting tools (from memory)"


def _tool(given: Given) -> Found:
    largest = given.measured("largest")
    lowest = given.si("lowest") if given.has("lowest") else None
    usable = torque.usable_range(largest.value_si, lowest)
    points = torque.check_points(largest.value_si, lowest)

    def shown(torque_nm: float) -> Value:
        return values.quantity(torque_nm, NEWTON_METRE, largest.unit)

    results = {"usable_from": shown(usable.low_nm), "usable_to": shown(usable.high_nm)}
    for number, point in enumerate(points, 1):
        within = torque.permitted_deviation(point, largest.value_si)
        results[f"check_{number}"] = shown(point)
        results[f"check_{number}_within"] = shown(within)
    cautions = ["Check it after an overload, a fall or a repair as well."]
    if given.has("setting"):
        cautions += _at_setting(given, usable, results)
    share = torque.permitted_deviation(points[-1], largest.value_si) / points[-1]
    return Found(
        results,
        f"from {usable.low_nm / usable.high_nm:.3g} of the largest or its lowest mark; checked at "
        f"the lowest, 60 % and 100 %; ± {100 * share:g} % permitted",
        _PERMITTED,
        tuple(cautions),
    )


def _at_setting(
    given: Given, usable: torque.UsableRange, results: dict[str, Value]
) -> tuple[str, ...]:
    """Whether a setting lies in the usable range, and how far off it may be."""
    setting = given.measured("setting")
    fits = usable.low_nm <= setting.value_si <= usable.high_nm
    results["setting_verdict"] = values.words("within" if fits else "outside")
    if not fits:
        return ("The setting is outside the tool's usable range: take another.",)
    within = torque.permitted_deviation(setting.value_si, usable.high_nm)
    results["setting_within"] = values.quantity(within, NEWTON_METRE, setting.unit)
    return ()


TORQUE_TOOL = Calculation(
    "torque-tool",
    "Usable range of a torque tool, where to check it and how far off it may be",
    (
        torque_field("largest", "The most its scale shows."),
        torque_field("lowest", "Its lowest mark, if it has one.", required=False),
        torque_field("setting", "A setting it is to be used at.", required=False),
    ),
    _tool,
    {"largest": "100 N·m", "setting": "35 N·m"},
)


def _bench(unit: str) -> str:
    """A unit as the bench writes it: in-lb, not of pounds-force."""
    return unit.replace("lbf", "lb").replace("N m", NEWTON_METRE)


def _slip(given: Given) -> Found:
    reading, target = given.measured("reading"), given.measured("target")
    tolerance = given.si_or("tolerance", 0.0)
    found = torque.slip(reading.value_si, target.value_si, tolerance)
    ratio = reading.value_si / target.value_si
    results = {"ratio": values.plain(ratio, figures=4)}
    if found is None:
        off = abs(reading.value_si - target.value_si)
        said = "within the tolerance" if off <= tolerance else "no unit's factor"
        results["slip"] = values.words(said)
    else:
        results["slip"] = values.words(
            f"taken as {_bench(found.typed_unit)}, its number fits {_bench(found.meant_unit)}"
        )
        results["factor"] = values.plain(found.factor, figures=5)
        results["meant"] = values.quantity(found.meant_nm, NEWTON_METRE, target.unit)
    return Found(
        results,
        f"{reading.value_si:.5g} N·m/{target.value_si:.5g} N·m = {ratio:.4g}; the factors of unit "
        "slips are 12, 8.851, 1.356 and one over each",
        "unit factors: NIST SP 811; that people slip so is common practice, no source",
        ("A joint pulled in the wrong unit is made again: it may be stretched or loose.",),
    )


TORQUE_SLIP = Calculation(
    "torque-slip",
    "Whether a torque looks like the right number in the wrong unit",
    (
        torque_field("reading", "What was read or typed."),
        torque_field("target", "What it should be."),
        torque_field("tolerance", "Plus or minus, what is no slip at all.", required=False),
    ),
    _slip,
    {"reading": "30 ft-lb", "target": "30 in-lb"},
)


def _recalibration(given: Given) -> Found:
    months, cycles = given.count("months"), given.count("cycles")
    due = torque.recalibration_due(
        given.day("checked"), given.si_or("a-month", 0.0), months, cycles
    )
    return Found(
        {"due": values.words(due.isoformat())},
        f"{months} months or {cycles} cycles after {given.day('checked').isoformat()}, whichever "
        f"is first: {due.isoformat()}",
        "ISO 6789:2003 default interval (from memory)",
        ("Sooner after an overload, a fall or a repair.",),
    )


RECALIBRATION = Calculation(
    "recalibration",
    "The day a torque tool's calibration runs out",
    (
        Field("checked", Kind.DAY, "The day of its last good check.", metavar="DATE"),
        Field("a-month", Kind.NUMBER, "Cycles it does in a month.", False, metavar="N"),
        Field("months", Kind.COUNT, "The interval by time.", False, "12", metavar="N"),
        Field("cycles", Kind.COUNT, "The interval by use.", False, "5000", metavar="N"),
    ),
    _recalibration,
    {"checked": "2026-02-10", "a-month": "700"},
)

CALCULATIONS = (TORQUE_TOOL, TORQUE_SLIP, RECALIBRATION)
