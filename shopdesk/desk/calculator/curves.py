"""What the bench draws, as numbers in the units people read: no plotting here.

A ``Drawing`` is a set of curves on two scales. The calculator's drawings are made from what is
typed in its fields (``drawn``), the sheet's from a job's readings, by the same four functions.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shopdesk import quantities
from shopdesk.calc import charge, nitrogen, relief
from shopdesk.calc.leak import Leak
from shopdesk.desk.calculator import values
from shopdesk.errors import OutOfRange

Point = tuple[float, float]

LINE = ""  # the sign of a curve drawn through
STEPS = 60
_COLDEST_K, _HOTTEST_K, _MARGIN_K = 273.15, 323.15, 5.0
_SPAN_UNITS = (("d", 86400.0), ("h", 3600.0), ("min", 60.0), ("s", 1.0))
_FEWEST = 4.0  # of a unit of time, to count in it
_ML_PER_M3 = 1e6


@dataclass(frozen=True, slots=True)
class Curve:
    """``sign`` is drawn at each point, along the whole way where ``joined``; without a sign it is
    a line. Curves without ``label`` are not explained."""

    label: str
    points: tuple[Point, ...]
    sign: str = LINE
    joined: bool = True


@dataclass(frozen=True, slots=True)
class Scale:
    """A second upright scale: what stands at ``up`` reads ``slope`` × up + ``offset`` there."""

    label: str
    slope: float
    offset: float


@dataclass(frozen=True, slots=True)
class Drawing:
    """``across`` and ``up`` name what the scales count, with the unit. ``names`` are written on
    the upright scale in place of numbers; later curves lie over earlier ones."""

    title: str
    across: str
    up: str
    curves: tuple[Curve, ...]
    said: tuple[str, ...] = ()
    right: Scale | None = None
    names: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Stated:
    """A charge as it is stated: absolute pascal at a temperature, and the units to draw it in."""

    target_pa_abs: float
    at_k: float
    atmosphere_pa: float
    unit: str
    temperature_unit: str = "°C"
    tolerance_pa: float | None = None

    def shown(self, pa_abs: float) -> float:
        return quantities.from_si(
            pa_abs - self.atmosphere_pa, self.unit, atmosphere_pa=self.atmosphere_pa
        )

    def degrees(self, kelvin: float) -> float:
        return quantities.from_si(kelvin, self.temperature_unit)

    def text(self, pa_abs: float) -> str:
        return values.pressure(pa_abs, self.unit, self.atmosphere_pa).as_text

    def at(self, kelvin: float) -> str:
        return quantities.text(kelvin, self.temperature_unit)


@dataclass(frozen=True, slots=True)
class Today:
    """A point on the charge's drawing: the gas's temperature, absolute pascal, what it is."""

    gas_k: float
    pressure_pa_abs: float
    label: str
    sign: str = "X"


def charge_drawing(stated: Stated, today: Sequence[Today] = ()) -> Drawing:
    """Charge pressure against the gas's temperature: real gas, ideal beside it, the target's band.

    Raises OutOfRange where no part of it lies within the equation's range.
    """
    temperatures = _temperatures([stated.at_k, *(point.gas_k for point in today)])

    def along(pa_abs: float, *, ideal: bool = False) -> tuple[Point, ...]:
        def at(kelvin: float) -> float:
            found = charge.set_pressure(pa_abs, stated.at_k, kelvin)
            return found.ideal_pa_abs if ideal else found.pressure_pa_abs

        return _within(temperatures, lambda k: (stated.degrees(k), stated.shown(at(k))))

    target = stated.target_pa_abs
    band = []
    if stated.tolerance_pa:
        spread = quantities.span_text(stated.tolerance_pa, stated.unit)
        edges = [along(target + sign * stated.tolerance_pa) for sign in (1.0, -1.0)]
        band = [Curve(f"target ± {spread}", edges[0], "-"), Curve("", edges[1], "-")]
    marks = [
        Curve(p.label, ((stated.degrees(p.gas_k), stated.shown(p.pressure_pa_abs)),), p.sign, False)
        for p in today
    ]
    return Drawing(
        f"Charge of {stated.text(target)} at {stated.at(stated.at_k)}",
        f"gas at {stated.temperature_unit}",
        f"{stated.unit}{values.reference(stated.unit)}",
        (
            *band,
            Curve("ideal gas", along(target, ideal=True)[::4], "i", joined=False),
            Curve("nitrogen", along(target)),
            *marks,
        ),
        tuple(_beside(stated, point) for point in today),
    )


def _beside(stated: Stated, point: Today) -> str:
    found = charge.set_pressure(stated.target_pa_abs, stated.at_k, point.gas_k)
    here = "" if point.pressure_pa_abs == found.pressure_pa_abs else (
        f"{point.label} {stated.text(point.pressure_pa_abs)}; "
    )  # fmt: skip
    return (
        f"At {stated.at(point.gas_k)}: {here}target {stated.text(found.pressure_pa_abs)}, ideal "
        f"gas {stated.text(found.ideal_pa_abs)}"
    )


def _temperatures(known: Sequence[float]) -> list[float]:
    low = max(min(_COLDEST_K, *known) - _MARGIN_K, nitrogen.LOWEST_K)
    high = min(max(_HOTTEST_K, *known) + _MARGIN_K, nitrogen.HIGHEST_K)
    return [low + (high - low) * step / STEPS for step in range(STEPS + 1)]


def _within(temperatures: Iterable[float], point: Callable[[float], Point]) -> tuple[Point, ...]:
    """The points inside the equation's range; OutOfRange where there is none."""
    found, refused = [], None
    for kelvin in temperatures:
        try:
            found.append(point(kelvin))
        except OutOfRange as fault:
            refused = fault
    if refused is not None and not found:
        raise refused
    return tuple(found)


def leak_drawing(found: Leak, said: Sequence[str] = (), allowed_kg: float | None = None) -> Drawing:
    """Gas lost against time, the line through the readings, the slowest and fastest rate they
    allow, no loss; and ``allowed_kg``, the loss a limit allows."""
    unit, second = next(
        (each for each in _SPAN_UNITS if found.times_s[-1] >= _FEWEST * each[1]), _SPAN_UNITS[-1]
    )
    per_m3 = nitrogen.density(charge.ATMOSPHERE_PA, charge.REFERENCE_K)
    end_s, start_kg = found.times_s[-1], found.fit_kg[0]

    def at(time_s: float, mass_kg: float) -> Point:
        return (time_s / second, mass_kg / per_m3 * _ML_PER_M3)

    def flat(mass_kg: float) -> tuple[Point, ...]:
        return (at(0.0, mass_kg), at(end_s, mass_kg))

    def rate(kg_s: float) -> tuple[Point, ...]:
        return (at(0.0, start_kg), at(end_s, start_kg + kg_s * end_s))

    doubt = found.uncertainty_kg_s
    allowed = [] if allowed_kg is None else [Curve("allowed loss", flat(allowed_kg), "=")]
    readings = tuple(map(at, found.times_s, found.lost_kg))
    return Drawing(
        "Gas lost, as it would be at 1 atm and 20 °C",
        f"time, {unit}",
        "gas lost, mL",
        (
            Curve("no loss", flat(0.0), "-"),
            *allowed,
            Curve("slowest and fastest the readings allow", rate(found.rate_kg_s - doubt), ":"),
            Curve("", rate(found.rate_kg_s + doubt), ":"),
            Curve("fit", rate(found.rate_kg_s)),
            Curve("reading", readings, "o", joined=False),
        ),
        tuple(said),
    )


@dataclass(frozen=True, slots=True)
class Wall:
    """A diameter in metres that is drawn over the whole depth: a limit, the nominal, the piston."""

    label: str
    diameter_m: float
    sign: str = "|"


def bore_drawing(
    axes: Sequence[str],
    depths: Sequence[str],
    rows_m: Sequence[Sequence[float | None]],
    unit: str,
    walls: Sequence[Wall],
    said: Sequence[str] = (),
    *,
    at: Sequence[float] = (),
) -> Drawing:
    """The bore by depth, downwards, a letter for each axis; cells not yet measured are None.
    ``at`` says how deep each of the named ``depths`` is; without it, or where it doesn't rise,
    they are drawn evenly."""
    heights = _heights(depths, at)
    lines, letters = [], []
    for number, axis in enumerate(axes):
        cells = [row[number] for row in rows_m]
        way = tuple(
            (quantities.from_si(cell, unit), height)
            for cell, height in zip(cells, heights, strict=True)
            if cell is not None
        )
        letter = chr(ord("a") + number % 26)
        lines.append(Curve("", way))
        letters.append(Curve(f"axis {axis}", way, letter, joined=False))
    edge = (heights[0], heights[-1])
    stood = [
        Curve(
            f"{wall.label} {quantities.text(wall.diameter_m, unit)}",
            tuple((quantities.from_si(wall.diameter_m, unit), height) for height in edge),
            wall.sign,
        )
        for wall in walls
    ]
    names = tuple(zip(heights, depths, strict=True))
    return Drawing(
        "Bore by depth",
        f"diameter, {unit}",
        "depth",
        (*stood, *lines, *letters),
        tuple(said),
        names=names,
    )


def _heights(depths: Sequence[str], at: Sequence[float]) -> list[float]:
    rising = len(at) == len(depths) and all(a < b for a, b in pairwise(at))
    return [-each for each in at] if rising else [-float(n) for n in range(len(depths))]


@dataclass(frozen=True, slots=True)
class Seat:
    """What the spring holds down: seat diameter in metres, back pressure in pascal, unit to read
    the pressure in."""

    diameter_m: float
    back_pa: float = 0.0
    unit: str = "bar"


def spring_drawing(
    rate_n_m: float,
    unit: str,
    *,
    seat: Seat | None = None,
    preload_m: float | None = None,
    changed_m: float | None = None,
    solid_m: float | None = None,
    set_as: str = "as set",
) -> Drawing:
    """Force and cracking pressure against how far the spring is compressed, in ``unit``: one line,
    read on two scales. ``changed_m`` is the compression after a change, ``solid_m`` where the
    coils touch."""
    known = [each for each in (preload_m, changed_m) if each is not None]
    end_m = solid_m if solid_m is not None else 1.5 * max(known, default=0.01)
    end_m = max(end_m, *known) if known else end_m

    def at(depth_m: float) -> Point:
        return (quantities.from_si(depth_m, unit), rate_n_m * depth_m)

    points = [
        (label, depth_m, sign)
        for label, depth_m, sign in (
            (set_as, preload_m, "X"),
            ("after the change", changed_m, "o"),
        )
        if depth_m is not None
    ]
    marks = [Curve(label, (at(depth_m),), sign, joined=False) for label, depth_m, sign in points]
    solid = [] if solid_m is None else [
        Curve("coils touch", ((at(solid_m)[0], 0.0), at(solid_m)), "|")
    ]  # fmt: skip
    right = None
    if seat is not None:
        per_pa = 1.0 / quantities.span_to_si(1.0, seat.unit)
        slope = per_pa / relief.seat_area(seat.diameter_m)
        right = Scale(f"cracking pressure, {seat.unit}", slope, seat.back_pa * per_pa)
    return Drawing(
        "Spring force" + (" and cracking pressure" if seat else ""),
        f"depth compressed, {unit}",
        "force, N",
        (*solid, Curve("spring", (at(0.0), at(end_m))), *marks),
        tuple(_at_depth(label, depth_m, rate_n_m, unit, seat) for label, depth_m, _ in points),
        right=right,
    )


def _at_depth(label: str, depth_m: float, rate_n_m: float, unit: str, seat: Seat | None) -> str:
    said = f"{label}: {quantities.text(depth_m, unit)}, {rate_n_m * depth_m:.4g} N"
    if seat is None:
        return said
    cracks = relief.cracking_pressure(rate_n_m, depth_m, seat.diameter_m, seat.back_pa)
    return f"{said}, cracks at {quantities.text(cracks, seat.unit)}"
