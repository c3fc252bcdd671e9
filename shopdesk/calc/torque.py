"""Torque at the wrench: units, the setting with an adapter, the tool to take, the slip of a unit.

Newton metres throughout; BadInput with a sentence for what makes no sense.
"""

import math
from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from shopdesk.calc._numeric import above_zero, finite, not_below_zero
from shopdesk.errors import BadInput, OutOfRange

POUND_FORCE_N = 4.4482216152605
"""0.45359237 kg × 9.80665 m/s², exact."""
INCH_M = 0.0254
IN_LBF_NM = POUND_FORCE_N * INCH_M
TORQUE_NM = {
    "N m": 1.0,
    "in-lbf": IN_LBF_NM,
    "ft-lbf": 12.0 * IN_LBF_NM,
    "kgf cm": 0.0980665,
    "ozf in": IN_LBF_NM / 16.0,
}
"""Exact factors. Source: NIST SP 811 (definitions of pound-force, inch, kilogram-force)."""

LOWEST_SHARE = 0.2
INTERVAL_MONTHS, INTERVAL_CYCLES = 12, 5000
_SMALL_TOOL_NM = 10.0


@dataclass(frozen=True)
class Tool:
    """A torque tool of the shop's: its usable range, and the day its calibration runs out."""

    name: str
    low_nm: float
    high_nm: float
    due: date | None = None


@dataclass(frozen=True)
class ToolChoice:
    """The tool to take, None where none will do; and why each of the others was passed over."""

    tool: Tool | None
    passed_over: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class UsableRange:
    low_nm: float
    high_nm: float


@dataclass(frozen=True)
class Slip:
    """A reading that looks like the right number in the wrong unit.

    ``typed_unit`` is the unit it was taken in, ``meant_unit`` the one its number fits, and
    ``meant_nm`` the torque if so.
    """

    ratio: float
    factor: float
    typed_unit: str
    meant_unit: str
    meant_nm: float


def to_nm(value: float, unit: str) -> float:
    """Torque in N·m from one of ``TORQUE_NM``."""
    return finite(value, "Torque") * _factor(unit)


def from_nm(torque_nm: float, unit: str) -> float:
    """Torque in one of ``TORQUE_NM`` from N·m."""
    return finite(torque_nm, "Torque") / _factor(unit)


def convert(value: float, unit: str, to_unit: str) -> float:
    """Torque in another unit: value × factor/factor. Source: ``TORQUE_NM``."""
    return finite(value, "Torque") * (_factor(unit) / _factor(to_unit))


def _factor(unit: str) -> float:
    if unit not in TORQUE_NM:
        accepted = ", ".join(TORQUE_NM)
        raise BadInput(f"Torque unit was read as {unit!r}; accepted are {accepted}.")
    return TORQUE_NM[unit]


def adapter_setting(
    target_nm: float, length_m: float, adapter_m: float, angle_deg: float = 0.0
) -> float:
    """Wrench setting [N·m] for ``target_nm`` at the fastener: T L/(L + E cos θ).

    L from the middle of the grip to the drive, E from the drive to the fastener, θ between them:
    0 lengthens, 90 changes nothing, 180 shortens. BadInput for an adapter longer than the wrench.
    Source: US Army TM 9-254; FAA AC 43.13-1B (from memory).
    """
    above_zero(target_nm, "Target torque in N·m")
    return target_nm / adapter_ratio(length_m, adapter_m, angle_deg)


def applied_torque(
    setting_nm: float, length_m: float, adapter_m: float, angle_deg: float = 0.0
) -> float:
    """Torque [N·m] at the fastener when the wrench shows ``setting_nm``: S (L + E cos θ)/L.

    The inverse of ``adapter_setting``; same source and errors.
    """
    above_zero(setting_nm, "Wrench setting in N·m")
    return setting_nm * adapter_ratio(length_m, adapter_m, angle_deg)


def adapter_ratio(length_m: float, adapter_m: float, angle_deg: float = 0.0) -> float:
    """(L + E cos θ)/L: torque at the fastener over torque shown. Errors as ``adapter_setting``."""
    above_zero(length_m, "Wrench length in m")
    if finite(adapter_m, "Adapter length in m") < 0.0:
        raise BadInput(
            f"Adapter length was read as {adapter_m * 1e3:g} mm; give it as a positive length, and "
            "an angle of 180 degrees where it points back along the wrench."
        )
    if adapter_m > length_m:
        raise BadInput(
            f"Adapter length was read as {adapter_m * 1e3:g} mm on a wrench of "
            f"{length_m * 1e3:g} mm; an adapter longer than the wrench makes no sense: check both "
            "lengths and their units."
        )
    if not -360.0 <= finite(angle_deg, "Adapter angle in degrees") <= 360.0:
        raise BadInput(
            f"Adapter angle was read as {angle_deg:g}; give -360 to 360 degrees from straight on."
        )
    ratio = 1.0 + adapter_m * math.cos(math.radians(angle_deg)) / length_m
    if ratio < 0.2:
        raise BadInput(
            f"An adapter of {adapter_m * 1e3:g} mm pointing back on a wrench of "
            f"{length_m * 1e3:g} mm leaves almost no lever; take a shorter adapter."
        )
    return ratio


def usable_range(max_nm: float, lowest_marked_nm: float | None = None) -> UsableRange:
    """Usable range [N·m] of a torque tool: 20 to 100 % of maximum, or from its lowest mark.

    Source: ISO 6789:2003 (20 %, from memory); ISO 6789-1:2017 starts at the lowest marked value.
    """
    above_zero(max_nm, "Largest torque of the tool in N·m")
    low = LOWEST_SHARE * max_nm if lowest_marked_nm is None else lowest_marked_nm
    if not 0.0 < finite(low, "Lowest mark in N·m") < max_nm:
        raise BadInput(
            f"Lowest mark was read as {low:g} N·m on a tool of {max_nm:g} N·m; it must lie between."
        )
    return UsableRange(low, max_nm)


def check_points(
    max_nm: float, lowest_marked_nm: float | None = None
) -> tuple[float, float, float]:
    """Torques [N·m] to check a tool at: lowest usable, 60 % and 100 % of maximum.

    Source: ISO 6789:2003 (from memory).
    """
    usable = usable_range(max_nm, lowest_marked_nm)
    return (usable.low_nm, 0.6 * max_nm, max_nm)


def permitted_deviation(torque_nm: float, max_nm: float) -> float:
    """Permitted deviation [N·m] of a setting tool: 6 % up to a 10 N·m maximum, 4 % above.

    OutOfRange above the tool's maximum. Source: ISO 6789:2003, type II (from memory).
    """
    above_zero(torque_nm, "Torque in N·m")
    above_zero(max_nm, "Largest torque of the tool in N·m")
    if torque_nm > max_nm:
        raise OutOfRange(f"{torque_nm:g} N·m is above the tool's maximum of {max_nm:g} N·m.")
    return torque_nm * (0.06 if max_nm <= _SMALL_TOOL_NM else 0.04)


def recalibration_due(
    calibrated_on: date,
    cycles_per_month: float = 0.0,
    months: int = INTERVAL_MONTHS,
    cycles: int = INTERVAL_CYCLES,
) -> date:
    """Day a torque tool's calibration runs out: 12 months or about 5000 cycles, whichever is first.

    Whole months, then the part of the next one rounded down to days; a day a month lacks falls back
    to its last. Also after overload or repair. Source: ISO 6789:2003 default (from memory).
    """
    not_below_zero(cycles_per_month, "Cycles a month")
    if months < 1 or cycles < 1:
        raise BadInput(
            f"Interval was read as {months} months and {cycles} cycles; give 1 or more of each."
        )
    by_use = cycles / cycles_per_month if cycles_per_month else math.inf
    if by_use >= months:
        return _months_later(calibrated_on, months)
    whole = int(by_use)
    start, end = _months_later(calibrated_on, whole), _months_later(calibrated_on, whole + 1)
    return start + timedelta(days=int((by_use - whole) * (end - start).days))


def _months_later(day: date, months: int) -> date:
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > date.max.year:
        raise OutOfRange(f"{months} months after {day} is past the year {date.max.year}.")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def choose_tool(target_nm: float, tools: Sequence[Tool], on: date) -> ToolChoice:
    """The tool to take for a wrench setting: in range and in date, the smallest one that does.

    Of tools with the same maximum the one whose calibration lasts longest. Pass the setting with
    the adapter, not the torque at the fastener. Source: ISO 6789:2003 usable range (from memory).
    """
    above_zero(target_nm, "Wrench setting in N·m")
    reasons = [(tool, _unfit(target_nm, tool, on)) for tool in tools]
    fit = [tool for tool, reason in reasons if not reason]
    fit.sort(key=lambda tool: (tool.high_nm, -(tool.due or date.max).toordinal(), tool.name))
    passed = [(tool.name, reason) for tool, reason in reasons if reason]
    passed += [(tool.name, f"{fit[0].name} is the finer one") for tool in fit[1:]]
    return ToolChoice(fit[0] if fit else None, tuple(passed))


def _unfit(target_nm: float, tool: Tool, on: date) -> str:
    if target_nm < tool.low_nm:
        return f"below its usable range, which starts at {tool.low_nm:g} N·m"
    if target_nm > tool.high_nm:
        return f"above its usable range, which ends at {tool.high_nm:g} N·m"
    if tool.due is not None and tool.due < on:
        return f"calibration ran out on {tool.due}"
    return ""


_SLIPS = (
    ("ft-lbf", "in-lbf"),
    ("in-lbf", "ft-lbf"),
    ("N m", "in-lbf"),
    ("in-lbf", "N m"),
    ("ft-lbf", "N m"),
    ("N m", "ft-lbf"),
)
"""(unit it was taken in, unit its number fits): 12, 1/12, 8.851, 1/8.851, 1.356, 1/1.356."""


def slip(
    reading_nm: float, target_nm: float, tolerance_nm: float = 0.0, within: float = 0.1
) -> Slip | None:
    """The unit slip a torque reading looks like, or None.

    Only for a reading outside target ± tolerance whose ratio to the target is ``within`` that
    share of 12, 1/12, 8.851, 1/8.851, 1.356 or 1/1.356; the closest of them. Source: the unit
    factors (NIST SP 811); that people make these slips is common practice, no source.
    """
    above_zero(target_nm, "Target torque in N·m")
    not_below_zero(tolerance_nm, "Torque tolerance in N·m")
    not_below_zero(within, "Nearness to a unit factor")
    if finite(reading_nm, "Torque reading") <= 0.0 or abs(reading_nm - target_nm) <= tolerance_nm:
        return None
    ratio = reading_nm / target_nm
    factors = {pair: TORQUE_NM[pair[0]] / TORQUE_NM[pair[1]] for pair in _SLIPS}
    pair, factor = min(factors.items(), key=lambda item: abs(math.log(ratio / item[1])))
    if abs(ratio / factor - 1.0) > within:
        return None
    return Slip(ratio, factor, pair[0], pair[1], reading_nm / factor)
