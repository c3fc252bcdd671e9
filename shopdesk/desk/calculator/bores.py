"""A bore as surveyed."""

import csv
import math
import re

from shopdesk.calc import bore
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import length_field
from shopdesk.errors import BadInput
from shopdesk.quantities import to_si
from shopdesk.quantities.clean import quoted

_MOST_ROWS, _MOST_COLUMNS = 2000, 100
_PLACES = 13
"""Of a metre: beyond them a difference carries what binary numbers leave, 0.0060000000001 mm."""
_NUMBER = re.compile(r"\d+(?:\.\d*)?|\.\d+")


def _bore(given: Given) -> Found:
    nominal = given.measured("nominal")
    axes, depths, rows = _table(given.words("file"), nominal.unit)
    found = bore.survey(rows)

    def like(metres: float) -> Value:
        return values.quantity(round(metres, _PLACES), nominal.unit)

    results = {
        "out_of_round": like(found.out_of_round_m),
        "taper": like(found.taper_m),
        "mean": like(found.mean_m),
        "wear": like(bore.wear(found.largest_m, nominal.value_si)),
        "largest": like(found.largest_m),
        "smallest": like(found.smallest_m),
    }
    if found.bell_mouth_m is not None:
        results["bell_mouth"] = like(found.bell_mouth_m)
    if given.has("piston"):
        gap = bore.clearance(found, given.si("piston"))
        results["clearance_smallest"] = like(gap.smallest_m)
        results["clearance_largest"] = like(gap.largest_m)
    return Found(
        results,
        f"{len(rows)} depths x {len(axes)} angles; out-of-round at depth "
        f"{depths[found.out_of_round_row]}, taper along {axes[found.taper_column]}; wear = "
        f"{values.millimetres(found.largest_m)} - {values.millimetres(nominal.value_si)}",
        "common practice (engine and cylinder rebuild manuals), no single source",
        (
            "Two-point diameters: a bore with three lobes can read the same at every angle, and "
            "roundness to ISO 1101 is about half the difference of an oval one.",
        ),
    )


def _table(text: str, unit: str) -> tuple[list[str], list[str], list[list[float]]]:
    """Angles, depths and diameters in metres. BadInput names the row and column."""
    lines = [line for line in text.removeprefix("\ufeff").splitlines() if line.strip()]
    if not lines:
        raise BadInput(
            "The survey is empty; its first row is depth,0,90 (the angles) and each other row a "
            "depth with a diameter for every angle."
        )
    mark = ";" if ";" in lines[0] else ","
    try:
        header, *body = csv.reader(lines, delimiter=mark, strict=True)
    except csv.Error as fault:
        raise BadInput(f"The survey is no CSV file ({fault}); save it as one again.") from None
    axes = _axes(header)
    _check_size(axes, body)
    depths, rows = [], []
    for number, cells in enumerate(body, 2):
        if len(cells) != len(header):
            raise BadInput(
                f"Row {number} of the survey has {len(cells)} cells, the header {len(header)}; "
                "give a diameter for every angle."
            )
        depths.append(_depth(cells[0], number))
        rows.append(
            [
                _cell(cell, number, axis, unit, mark)
                for cell, axis in zip(cells[1:], axes, strict=True)
            ]
        )
    return axes, depths, rows


def _axes(header: list[str]) -> list[str]:
    first, *axes = (cell.strip() for cell in header)
    if first.lower() != "depth" or not all(axes):
        shown = ",".join(header)
        raise BadInput(
            f"The survey's header was read as {quoted(shown)}; it is depth and then the angles: "
            "depth,0,90."
        )
    return axes


def _check_size(axes: list[str], body: list[list[str]]) -> None:
    if len(body) > _MOST_ROWS or len(axes) > _MOST_COLUMNS:
        raise BadInput(
            f"The survey has {len(body)} depths and {len(axes)} angles; up to {_MOST_ROWS} and "
            f"{_MOST_COLUMNS} are read."
        )


def _depth(cell: str, row: int) -> str:
    written = cell.strip()
    try:
        sound = math.isfinite(float(written))
    except ValueError:
        sound = bool(written)  # "top" names a depth as well
    if not sound:
        raise BadInput(f"Row {row} of the survey has {quoted(cell)} as its depth; give the depth.")
    return written


def _cell(cell: str, row: int, axis: str, unit: str, mark: str) -> float:
    written = cell.strip().replace(",", ".") if mark == ";" else cell.strip()
    if not _NUMBER.fullmatch(written):
        raise BadInput(
            f"Row {row} of the survey has {quoted(cell)} under {quoted(axis)}; give a diameter in "
            f"{unit} as a plain number."
        )
    return to_si(float(written), unit)


BORE = Calculation(
    "bore",
    "Out-of-round, taper and wear of a surveyed bore",
    (
        Field(
            "file",
            Kind.TABLE,
            "CSV: header depth,ANGLE,... and one row a depth.",
            positional=True,
            metavar="FILE",
        ),
        length_field("nominal", "Nominal bore; its unit is that of the cells."),
        length_field("piston", "The piston's diameter, for the clearance.", required=False),
    ),
    _bore,
    {
        "file": "depth,0,90\n20,40.012,40.018\n80,40.010,40.013\n140,40.006,40.008\n",
        "nominal": "40 mm",
    },
)

CALCULATIONS = (BORE,)
