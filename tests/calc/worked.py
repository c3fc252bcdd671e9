"""The worked examples: one row a published or independently computed value, with its tolerance."""

import csv
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

REFERENCE = Path(__file__).parent.parent / "reference"
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Row:
    """``id`` A1 to J9; ``expected`` a number, or text for dates and codes; ``tol_abs`` 0 = exact.

    ``ordinal`` counts rows of one example with the same ``quantity`` ("same real"), from 1.
    ``printed`` is the figure as the source rounds it, empty where the source prints none.
    """

    id: str
    quantity: str
    ordinal: int
    expected: float | str
    unit: str
    tol_abs: float
    printed: str
    basis: str
    source: str

    @property
    def key(self) -> tuple[str, str, int]:
        return (self.id, self.quantity, self.ordinal)

    @property
    def test_id(self) -> str:
        again = f" ({self.ordinal})" if self.ordinal > 1 else ""
        return f"{self.id} {self.quantity}{again} [{self.basis}]"

    def agrees(self, value: float | str) -> bool:
        if isinstance(self.expected, str) or isinstance(value, str):
            return value == self.expected
        return abs(value - self.expected) <= self.tol_abs + _ROUNDING * abs(self.expected)

    def disagreement(self, value: float | str) -> str:
        printed = f", printed {self.printed}" if self.printed else ""
        return (
            f"{self.id} {self.quantity}: got {value}, expected {self.expected} {self.unit} "
            f"within {self.tol_abs}{printed}. Source: {self.source}"
        )


def _expected(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _all_rows() -> list[Row]:
    seen: Counter[tuple[str, str]] = Counter()
    result = []
    with (REFERENCE / "worked_examples.csv").open(encoding="utf-8", newline="") as file:
        for raw in csv.DictReader(file):
            seen[raw["id"], raw["quantity"]] += 1
            result.append(
                Row(
                    id=raw["id"],
                    quantity=raw["quantity"],
                    ordinal=seen[raw["id"], raw["quantity"]],
                    expected=_expected(raw["expected"]),
                    unit=raw["unit"],
                    tol_abs=float(raw["tol_abs"] or 0.0),
                    printed=raw["printed"],
                    basis=raw["basis"],
                    source=raw["source"],
                )
            )
    return result


def rows(*sections: str) -> list[Row]:
    """The examples whose id starts with one of the letters, in the file's order."""
    return [row for row in _all_rows() if row.id[0] in sections]
