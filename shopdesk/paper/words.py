"""Words that several papers say alike."""

from datetime import date, datetime

from shopdesk.paper.blocks import Table
from shopdesk.views.sheets import Heading, tag

UNLIMITED = "no limit"
HANDWRITING_MM = 8.0
_PRESSURE = {
    "charged": "CHARGED",
    "unknown": "UNKNOWN: TREAT AS CHARGED",
    "vented": "vented",
    "none": "no gas",
}


def pressure(gas_state: str) -> str:
    """A unit's gas state in one cell; what is dangerous in capitals."""
    return _PRESSURE[gas_state]


def local(at: datetime) -> str:
    """In the shop's own time: for papers that stay in the house or are read the same day."""
    return f"{at.astimezone():%Y-%m-%d %H:%M}"


def day(when: date | None) -> str:
    return when.isoformat() if when else UNLIMITED


def whose(heading: Heading) -> Table:
    """The unit, its owner and its job."""
    rows = (
        ("Unit", f"{heading.model}, {heading.model_name}", "Job", tag(heading.number)),
        ("Serial", heading.serial, "Promised", heading.promised_on.isoformat()),
        (
            "Customer",
            f"{heading.customer} ({heading.customer_code})",
            "Procedure",
            f"{heading.model} revision {heading.revision}",
        ),
        ("Complaint", heading.complaint, "Received", local(heading.opened_at)),
    )
    return Table(("", "", "", ""), (12, 62, 12, 30), rows)


def by_hand(*what: str) -> Table:
    """Places to write in, side by side."""
    return Table(what, (1,) * len(what), (("",) * len(what),), room=HANDWRITING_MM)
