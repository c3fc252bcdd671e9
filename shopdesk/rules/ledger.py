"""The kinds of moves in the stock ledger: those of the shelf, and those beside it.

A customer's own parts and parts harvested from cores have lots, but no piece of them is on the
shelf: ``part.on_hand`` and what is free, reordered or promised know nothing of them.
"""

SHELF = ("receive", "reserve", "release", "issue", "return", "count", "scrap", "transfer")
BESIDE = ("bring", "harvest", "fit", "put back", "recount", "spoil", "hand back")
DRAWN = ("issue", "return", "fit", "put back")
"""What a job has: the sum of these is what went into it."""

_BESIDE = {"issue": "fit", "return": "put back", "count": "recount", "scrap": "spoil"}


def origin_said(origin: str, job: int | None, grade: str = "", unit: str = "") -> str:
    """Where a lot comes from in words; "" for what the shop bought."""
    if origin == "customer":
        return f"brought by the customer of J-{job}"
    out_of = f"{unit}, J-{job}" if unit else f"J-{job}"
    return f"used, grade {grade}, out of {out_of}" if origin == "harvested" else ""


def on_shelf(kind: str) -> str:
    """The shelf's word for a move beside it, the other way round of ``beside``."""
    return next((shelf for shelf, other in _BESIDE.items() if other == kind), kind)


def beside(kind: str) -> str:
    """The word for a shelf's move when the lot does not lie on the shelf."""
    return _BESIDE.get(kind, kind)
