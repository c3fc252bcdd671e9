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


def charged_cautions(gas_state: str, charge: str, gas: str) -> tuple[str, ...]:
    """What goes with a unit under gas pressure, the usual cautions of the trade (common practice);
    none for a unit that is vented or holds no gas. ``charge``: "70.0 bar at 20.0 °C", or ""."""
    if gas_state not in ("charged", "unknown"):
        return ()
    held = f"with {gas or 'nitrogen'}, {charge}" if charge else "to a pressure nobody has read"
    if gas_state == "unknown":
        said = "WHETHER IT IS CHARGED IS NOT KNOWN: treat it as charged."
    else:
        said = f"THIS UNIT IS CHARGED {held}; hotter it stands higher."
    return (
        f"{said} Do not open, loosen, heat, weld, drill or drop it; keep people clear of its gas "
        "valve and caps.",
        "Before any work let the gas down slowly in the open air and prove zero on both sides: "
        "nitrogen takes the air to breathe without a smell. Charge it with dry nitrogen alone, "
        "never oxygen or air.",
        "Trained people only; local codes and the carrier's rules for gas under pressure come "
        "first.",
    )


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
        *((("Order", heading.order, "", ""),) if heading.order else ()),
    )
    return Table(("", "", "", ""), (12, 62, 12, 30), rows)


def by_hand(*what: str) -> Table:
    """Places to write in, side by side."""
    return Table(what, (1,) * len(what), (("",) * len(what),), room=HANDWRITING_MM)
