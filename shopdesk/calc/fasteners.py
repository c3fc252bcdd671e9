"""Threads, their stress areas and strengths, and the preload a tightening torque gives.

The tables are data (``calc/data/fasteners.csv`` and ``threads.csv``), each row with its source and
confidence. A torque is only as good as its nut factor: state K with every figure.
"""

import csv
import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files

from shopdesk.calc._numeric import above_zero, finite
from shopdesk.calc.torque import INCH_M, POUND_FORCE_N
from shopdesk.errors import BadInput, OutOfRange

MM2_M2 = 1e-6
IN2_M2 = INCH_M**2
_STRENGTH_PA = {"ksi": 1e3 * POUND_FORCE_N / INCH_M**2, "MPa": 1e6}
_SIZE_M = {"in": INCH_M, "mm": 1e-3}
_INCH_GRADES, _METRIC_CLASSES = ("SAE J429", "ASTM A574"), ("ISO 898-1",)

_UNIFIED = re.compile(
    r"(?P<size>#\d+|\d+ \d+/\d+|\d+/\d+|\d*\.\d+|\d+)"
    r"-(?P<tpi>\d+(?:\.\d+)?)(?: ?(?P<series>UN[CFSE]*))?"
)
_BEFORE_GRADE = re.compile(r"^(SAE|ASTM|ISO|J429|898-1|GRADE|GR\.?|CLASS|PROPERTY| |-)+")
_METRIC = re.compile(r"M(?P<size>\d+(?:\.\d+)?)(?:X(?P<pitch>\d+(?:\.\d+)?))?")


@dataclass(frozen=True)
class Thread:
    """A thread of the standard series; ``name`` as the standard writes it, "7/16-20 UNF"."""

    name: str
    diameter_m: float
    pitch_m: float
    metric: bool
    source: str


@dataclass(frozen=True)
class StressArea:
    """``formula_m2`` computed, ``table_m2`` as printed or None; ``area_m2`` is the one to use."""

    formula_m2: float
    table_m2: float | None
    source: str

    @property
    def area_m2(self) -> float:
        return self.formula_m2 if self.table_m2 is None else self.table_m2


@dataclass(frozen=True)
class Strength:
    """Proof, yield and tensile strength of a grade in a size range, with source and confidence."""

    spec: str
    grade: str
    proof_pa: float
    yield_pa: float
    tensile_pa: float
    source: str
    confidence: str
    note: str


@dataclass(frozen=True)
class Preload:
    """What a bolt carries: preload, the torque that gives it, and its share of the proof load."""

    preload_n: float
    torque_nm: float
    share_of_proof: float
    proof_load_n: float
    stress_pa: float
    thread: Thread
    area: StressArea
    strength: Strength


@dataclass(frozen=True)
class _Size:
    name: str
    unit: str
    diameter: float
    pitches: dict[float, str]
    source: str


def _rows(name: str) -> list[dict[str, str]]:
    text = (files("shopdesk.calc") / "data" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@lru_cache(maxsize=1)
def _sizes() -> tuple[_Size, ...]:
    return tuple(
        _Size(
            name=row["size"],
            unit=row["unit"],
            diameter=float(row["diameter"]),
            pitches={
                float(pitch): series
                for pitch, series in (part.split(":") for part in row["pitches"].split())
            },
            source=row["source"],
        )
        for row in _rows("threads.csv")
    )


@lru_cache(maxsize=1)
def _facts() -> tuple[dict[str, str], ...]:
    return tuple(_rows("fasteners.csv"))


def thread(designation: str) -> Thread:
    """The thread a designation names: "7/16-20", "1 1/16-12 UN", "#10-32", "M10x1.5", "M10".

    A metric size without a pitch is the coarse one. BadInput for one no series has, naming the
    pitches of that size. Source: ASME B1.1 and ISO 261 series (see ``threads.csv``).
    """
    text = " ".join(designation.strip().upper().replace("×", "X").replace('"', "").split())
    text = re.sub(r" ?([-X]) ?", r"\1", text)
    text = re.sub(r"^(\d+)-(\d+/\d+-)", r"\1 \2", text)
    if metric := _METRIC.fullmatch(text):
        return _metric_thread(designation, metric)
    if unified := _UNIFIED.fullmatch(text):
        return _unified_thread(designation, unified)
    raise BadInput(
        f"Thread was read as {designation!r}; write it as 7/16-20, 1 1/16-12, #10-32 or M10x1.5."
    )


def _metric_thread(designation: str, match: re.Match[str]) -> Thread:
    size = _size_of(designation, float(match["size"]), "mm")
    coarse = next((p for p, series in size.pitches.items() if series == "coarse"), None)
    pitch = float(match["pitch"]) if match["pitch"] else coarse
    if pitch is None or pitch not in size.pitches:
        raise BadInput(_no_such(designation, size, "a pitch in mm"))
    name = f"{size.name}x{pitch:g}"
    return Thread(name, size.diameter * 1e-3, pitch * 1e-3, metric=True, source=size.source)


def _unified_thread(designation: str, match: re.Match[str]) -> Thread:
    size = _size_of(designation, _inches(match["size"], float(match["tpi"])), "in")
    tpi = float(match["tpi"])
    series = size.pitches.get(tpi)
    if series is None or match["series"] not in (None, series):
        raise BadInput(_no_such(designation, size, "threads per inch"))
    name = f"{size.name}-{tpi:g} {series}"
    return Thread(name, size.diameter * INCH_M, INCH_M / tpi, metric=False, source=size.source)


def _inches(size: str, tpi: float) -> float:
    """Diameter in inches; a bare 0 to 12 is a screw number where only that has the pitch."""
    if size.startswith("#"):
        return round(0.060 + 0.013 * int(size[1:]), 3)
    try:
        inches = float(sum(Fraction(part) for part in size.split()))
    except ZeroDivisionError:
        return math.nan
    number = next((s for s in _sizes() if s.name == f"#{size}"), None)
    if number and tpi in number.pitches and tpi not in _pitches_of(inches):
        return number.diameter
    return inches


def _pitches_of(inches: float) -> dict[float, str]:
    found = [size.pitches for size in _sizes() if size.unit == "in" and size.diameter == inches]
    return found[0] if found else {}


def _size_of(designation: str, diameter: float, unit: str) -> _Size:
    for size in _sizes():
        if size.unit == unit and math.isclose(size.diameter, diameter, abs_tol=6e-4):
            return size
    known = "#0 to 3 in" if unit == "in" else "M1.6 to M64"
    raise BadInput(f"Thread was read as {designation!r}; no series has that size ({known}).")


def _no_such(designation: str, size: _Size, what: str) -> str:
    pitches = ", ".join(f"{pitch:g} {series}" for pitch, series in size.pitches.items())
    return f"Thread was read as {designation!r}; {size.name} comes with {what} of {pitches}."


def threads() -> tuple[Thread, ...]:
    """Every thread of the table, smallest first, inch before metric."""
    return tuple(
        thread(f"{size.name}{'x' if size.unit == 'mm' else '-'}{pitch:g}")
        for size in _sizes()
        for pitch in size.pitches
    )


def stress_area(of: Thread) -> StressArea:
    """Tensile stress area [m²]: π/4 (D - 0.9743/n)² inch, π/4 (d - 0.9382 P)² metric.

    The printed table's rounded figure goes before the formula, as torque tables use it; they differ
    by up to 0.12 %. Source: ASME B1.1 / FED-STD-H28; ISO 898-1 (table rows in ``fasteners.csv``).
    """
    factor = 0.9382 if of.metric else 0.9743
    formula = math.pi / 4.0 * (of.diameter_m - factor * of.pitch_m) ** 2
    for row in _facts():
        if row["table"] == "area" and row["class_or_thread"] == of.name:
            unit = IN2_M2 if row["area_unit"] == "in2" else MM2_M2
            return StressArea(formula, float(row["area_published"]) * unit, row["source"])
    return StressArea(formula, None, "computed from the thread")


def grades() -> tuple[str, ...]:
    """The grades and property classes the table has: 2, 5, 8, 8.8, 10.9, 12.9, A574."""
    found = dict.fromkeys(_grade_name(row) for row in _facts() if row["table"] == "strength")
    return tuple(found)


def _grade_name(row: dict[str, str]) -> str:
    return "A574" if row["spec"] == "ASTM A574" else row["class_or_thread"]


def strength(grade: str, of: Thread) -> Strength:
    """Strengths of a grade ("5", "grade 8", "10.9", "A574") in the size of a thread.

    BadInput for an unknown grade or one of the other thread system, OutOfRange for a size its
    standard doesn't cover. Source: each row's own (SAE J429, ISO 898-1, ASTM A574).
    """
    wanted = _BEFORE_GRADE.sub("", grade.strip().upper())
    rows = [r for r in _facts() if r["table"] == "strength" and _grade_name(r) == wanted]
    if not rows:
        raise BadInput(f"Grade was read as {grade!r}; known are {', '.join(grades())}.")
    if (rows[0]["spec"] in _METRIC_CLASSES) != of.metric:
        kind = "metric" if of.metric else "inch"
        raise BadInput(
            f"{rows[0]['spec']} {wanted} is not for {kind} threads such as {of.name}; known are "
            f"{', '.join(grades())}."
        )
    for row in rows:
        if _covers(row, of.diameter_m):
            return _strength(row)
    raise OutOfRange(f"{rows[0]['spec']} {wanted} has no strength for a thread of {of.name}.")


def _covers(row: dict[str, str], diameter_m: float) -> bool:
    unit = _SIZE_M[row["size_unit"]]
    low, high = row["size_from"], row["size_to"]
    size = diameter_m / unit
    above = not low or (size > float(low[1:]) + 1e-9 if low[0] == ">" else size > float(low) - 1e-9)
    return above and (not high or size < float(high) + 1e-9)


def _strength(row: dict[str, str]) -> Strength:
    unit = _STRENGTH_PA[row["strength_unit"]]
    return Strength(
        spec=row["spec"],
        grade=_grade_name(row),
        proof_pa=float(row["proof"]) * unit,
        yield_pa=float(row["yield"]) * unit,
        tensile_pa=float(row["tensile"]) * unit,
        source=row["source"],
        confidence=row["confidence"],
        note=row["note"],
    )


def preload(designation: str, grade: str, share_of_proof: float, nut_factor: float) -> Preload:
    """Preload [N] at a share of the proof load, and the torque [N·m] for it: F = s Sp A, T = K F d.

    ``share_of_proof`` 0 to 1; ``nut_factor`` 0.03 to 1, about 0.20 dry and 0.15 oiled (common
    practice). ±25 % in preload is usual for torque control (from memory). Source: T = K F d, any
    machine design text; strengths and areas as ``strength`` and ``stress_area``.
    """
    if not 0.0 < finite(share_of_proof, "Share of proof load") <= 1.0:
        raise BadInput(f"Share of proof load was read as {share_of_proof:g}; give 0 to 1 (100 %).")
    of, area, steel = _bolt(designation, grade)
    proof_n = steel.proof_pa * area.area_m2
    preload_n = share_of_proof * proof_n
    return Preload(
        preload_n=preload_n,
        torque_nm=tightening_torque(preload_n, of.diameter_m, nut_factor),
        share_of_proof=share_of_proof,
        proof_load_n=proof_n,
        stress_pa=preload_n / area.area_m2,
        thread=of,
        area=area,
        strength=steel,
    )


def preload_from_torque(
    designation: str, grade: str, torque_nm: float, nut_factor: float
) -> Preload:
    """Preload [N] and share of proof load that a torque gives: F = T/(K d); may exceed 1.

    The inverse of ``preload``; same source and errors.
    """
    above_zero(torque_nm, "Torque in N·m")
    of, area, steel = _bolt(designation, grade)
    preload_n = torque_nm / (_nut_factor(nut_factor) * of.diameter_m)
    proof_n = steel.proof_pa * area.area_m2
    return Preload(
        preload_n=preload_n,
        torque_nm=torque_nm,
        share_of_proof=preload_n / proof_n,
        proof_load_n=proof_n,
        stress_pa=preload_n / area.area_m2,
        thread=of,
        area=area,
        strength=steel,
    )


def _bolt(designation: str, grade: str) -> tuple[Thread, StressArea, Strength]:
    of = thread(designation)
    return of, stress_area(of), strength(grade, of)


def tightening_torque(preload_n: float, diameter_m: float, nut_factor: float) -> float:
    """T = K F d [N·m]. Source: any machine design text."""
    above_zero(preload_n, "Preload in N")
    return _nut_factor(nut_factor) * preload_n * above_zero(diameter_m, "Thread diameter in m")


def _nut_factor(nut_factor: float) -> float:
    if not 0.03 <= finite(nut_factor, "Nut factor K") <= 1.0:
        raise BadInput(
            f"Nut factor K was read as {nut_factor:g}; 0.03 to 1 is accepted, 0.20 is usual dry."
        )
    return nut_factor
