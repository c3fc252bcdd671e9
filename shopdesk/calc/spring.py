"""A helical compression spring of round wire: rate, force, solid length and the stress in it.

Wire moduli, strengths and allowed shares are data (``calc/data/springs.csv``), each with
its source.
"""

import csv
import math
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from shopdesk.calc._numeric import above_zero, not_below_zero
from shopdesk.calc.torque import INCH_M, POUND_FORCE_N
from shopdesk.errors import BadInput, OutOfRange

PSI_PA = POUND_FORCE_N / INCH_M**2
ENDS = {
    "plain": (0.0, 1.0),
    "plain ground": (1.0, 0.0),
    "squared": (2.0, 1.0),
    "squared ground": (2.0, 0.0),
}
"""(dead coils, wire diameters the solid length has beyond the total coils).
Source: Shigley Table 10-1 (squared, plain ground seen in worked examples; rest from memory)."""
INDEX_LOW, INDEX_HIGH = 4.0, 12.0
"""Usual spring index. Source: Shigley, chapter 10 (from memory)."""


@dataclass(frozen=True)
class Spring:
    """``index`` is mean diameter over wire; ``solid_length_m`` with the coils touching."""

    rate_n_m: float
    mean_diameter_m: float
    index: float
    active: float
    total: float
    solid_length_m: float


@dataclass(frozen=True)
class StressCheck:
    """Shear stress at a force, the allowed one, and what speaks against the spring, if anything."""

    stress_pa: float
    allowed_pa: float
    share_of_allowed: float
    cautions: tuple[str, ...]


def rate(wire_m: float, outside_m: float, active: float, shear_modulus_pa: float) -> float:
    """Spring rate [N/m]: k = G d⁴/(8 D³ n), D = outside - wire, n the active coils.

    BadInput for a wire the coil can't hold. Source: any machine design text (Shigley chapter 10).
    """
    mean = mean_diameter(wire_m, outside_m)
    above_zero(active, "Active coils")
    above_zero(shear_modulus_pa, "Shear modulus in Pa")
    return shear_modulus_pa * wire_m**4 / (8.0 * mean**3 * active)


def mean_diameter(wire_m: float, outside_m: float) -> float:
    """Mean coil diameter [m]: outside - wire. BadInput for an outside of 3 wires or less."""
    above_zero(wire_m, "Wire diameter in m")
    if above_zero(outside_m, "Outside diameter in m") <= 3.0 * wire_m:
        raise BadInput(
            f"Outside diameter was read as {outside_m * 1e3:g} mm on wire of {wire_m * 1e3:g} mm; "
            "a coil needs more than 3 wire diameters outside: check both and their units (a wire "
            "gauge number is not a diameter)."
        )
    return outside_m - wire_m


def active_coils(total: float, ends: str = "squared") -> float:
    """Active coils: total less the dead ones of the ends (``ENDS``)."""
    dead, _ = _ends(ends)
    if above_zero(total, "Total coils") <= dead:
        raise BadInput(
            f"Total coils were read as {total:g}; {ends} ends take {dead:g} of them, none is left."
        )
    return total - dead


def solid_length(wire_m: float, total: float, ends: str = "squared") -> float:
    """Length [m] with the coils touching: (N + 1) d not ground, N d ground."""
    above_zero(wire_m, "Wire diameter in m")
    return (above_zero(total, "Total coils") + _ends(ends)[1]) * wire_m


def _ends(ends: str) -> tuple[float, float]:
    if ends not in ENDS:
        raise BadInput(f"Spring ends were read as {ends!r}; known are {', '.join(ENDS)}.")
    return ENDS[ends]


def spring(
    wire_m: float,
    outside_m: float,
    total: float,
    shear_modulus_pa: float,
    active: float | None = None,
    ends: str = "squared",
) -> Spring:
    """The spring its measures give; active coils from the ends where they aren't counted.

    BadInput for more active coils than coils. Source: as ``rate`` and ``solid_length``.
    """
    live = active_coils(total, ends) if active is None else active
    if live > above_zero(total, "Total coils"):
        raise BadInput(
            f"Active coils were read as {live:g} of {total:g} in total; they can't be more."
        )
    mean = mean_diameter(wire_m, outside_m)
    return Spring(
        rate_n_m=rate(wire_m, outside_m, live, shear_modulus_pa),
        mean_diameter_m=mean,
        index=mean / wire_m,
        active=live,
        total=total,
        solid_length_m=solid_length(wire_m, total, ends),
    )


def force(rate_n_m: float, deflection_m: float) -> float:
    """Force [N] at a compression: k x."""
    above_zero(rate_n_m, "Spring rate in N/m")
    return rate_n_m * not_below_zero(deflection_m, "Compression in m")


def force_at_length(of: Spring, free_length_m: float, length_m: float) -> float:
    """Force [N] of the spring held at a length: k (free - length).

    BadInput for a length above the free one, OutOfRange for one below solid.
    """
    above_zero(free_length_m, "Free length in m")
    if above_zero(length_m, "Length in m") > free_length_m:
        raise BadInput(
            f"Length was read as {length_m * 1e3:g} mm, longer than the free "
            f"{free_length_m * 1e3:g} mm; a compression spring doesn't pull."
        )
    if length_m < of.solid_length_m:
        raise OutOfRange(
            f"Length was read as {length_m * 1e3:g} mm; this spring goes solid at "
            f"{of.solid_length_m * 1e3:.4g} mm."
        )
    return of.rate_n_m * (free_length_m - length_m)


def wahl_factor(index: float) -> float:
    """Curvature and direct shear: (4C - 1)/(4C - 4) + 0.615/C, C the spring index above 1.

    Source: Wahl; Shigley chapter 10.
    """
    if above_zero(index, "Spring index") <= 1.0:
        raise BadInput(f"Spring index was read as {index:g}; it must be above 1.")
    return (4.0 * index - 1.0) / (4.0 * index - 4.0) + 0.615 / index


def stress(force_n: float, wire_m: float, outside_m: float) -> float:
    """Largest shear stress [Pa] in the wire: K 8 F D/(π d³), K the Wahl factor."""
    mean = mean_diameter(wire_m, outside_m)
    not_below_zero(force_n, "Force in N")
    return wahl_factor(mean / wire_m) * 8.0 * force_n * mean / (math.pi * wire_m**3)


def solid_check(
    of: Spring, wire_m: float, outside_m: float, free_length_m: float, material: str
) -> StressCheck:
    """Stress [Pa] with the spring pressed solid against what its wire allows without setting.

    Source: as ``stress`` and ``allowed_stress``; the index range is usual practice (from memory).
    """
    if above_zero(free_length_m, "Free length in m") <= of.solid_length_m:
        raise BadInput(
            f"Free length was read as {free_length_m * 1e3:g} mm; solid this spring is "
            f"{of.solid_length_m * 1e3:.4g} mm already."
        )
    found = stress(of.rate_n_m * (free_length_m - of.solid_length_m), wire_m, outside_m)
    allowed = allowed_stress(material, wire_m)
    cautions = []
    if found > allowed:
        cautions.append("Pressed solid it will take a set: hold it above its solid length.")
    if not INDEX_LOW <= of.index <= INDEX_HIGH:
        cautions.append(f"Spring index {of.index:.3g} is outside the usual 4 to 12.")
    return StressCheck(found, allowed, found / allowed, tuple(cautions))


def materials(*, strength: bool = False) -> tuple[str, ...]:
    """The wire materials the table has a modulus for, or with ``strength`` an allowed stress."""
    table = "share" if strength else "modulus"
    return tuple(dict.fromkeys(row["material"] for row in _table() if row["table"] == table))


def sources(material: str, wire_m: float) -> str:
    """Where the strength and the allowed share of a wire come from."""
    rows = [_row(table, material, wire_m)["source"] for table in ("tensile", "share")]
    return "; ".join(rows)


def shear_modulus(material: str, wire_m: float) -> float:
    """Shear modulus G [Pa] of a wire by material name or ASTM number, at its diameter.

    BadInput for an unknown material. Source: each row of ``springs.csv``.
    """
    return float(_row("modulus", material, wire_m)["value"]) * 1e6 * PSI_PA


def tensile_strength(material: str, wire_m: float) -> float:
    """Minimum tensile strength [Pa] of a wire: A/d^m, d in inches.

    OutOfRange for a diameter the row doesn't cover. Source: each row of ``springs.csv``.
    """
    row = _row("tensile", material, wire_m)
    inches = wire_m / INCH_M
    return float(row["value"]) * math.pow(inches, -float(row["exponent"])) * 1e3 * PSI_PA


def allowed_stress(material: str, wire_m: float) -> float:
    """Shear stress [Pa] the wire stands at rest without a set: a share of minimum tensile.

    Where sources differ the lower share is taken. Source: each row of ``springs.csv``.
    """
    return float(_row("share", material, wire_m)["value"]) * tensile_strength(material, wire_m)


@lru_cache(maxsize=1)
def _table() -> tuple[dict[str, str], ...]:
    text = (files("shopdesk.calc") / "data" / "springs.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def _row(table: str, material: str, wire_m: float) -> dict[str, str]:
    wanted = " ".join(material.strip().lower().replace("-", " ").split())
    above_zero(wire_m, "Wire diameter in m")
    rows = [row for row in _table() if row["table"] == table and wanted in _names(row)]
    if not rows:
        known = dict.fromkeys(row["material"] for row in _table() if row["table"] == table)
        raise BadInput(f"Spring material was read as {material!r}; known are {', '.join(known)}.")
    if len(names := dict.fromkeys(row["material"] for row in rows)) > 1:
        raise BadInput(f"Spring material {material!r} is one of {', '.join(names)}; say which.")
    for row in rows:
        low, high = float(row["from_in"] or 0.0), float(row["to_in"] or math.inf)
        if low - 1e-9 <= wire_m / INCH_M <= high + 1e-9:
            return row
    raise OutOfRange(
        f"Wire of {wire_m * 1e3:.4g} mm is outside what the table has for {rows[0]['material']}: "
        f"{float(rows[0]['from_in']) * 25.4:.3g} to {float(rows[-1]['to_in']) * 25.4:.3g} mm."
    )


def _names(row: dict[str, str]) -> tuple[str, ...]:
    name = row["material"].lower()
    return (name.replace("-", " "), row["spec"].lower())
