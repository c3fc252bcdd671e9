"""What is asked of a core, and its taking in."""

from datetime import date
from typing import TYPE_CHECKING

from shopdesk.tui.counter.known import PLACE
from shopdesk.tui.dates import read_date
from shopdesk.tui.filling import Choice, Field

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.sheets import SheetView

KINDS = (
    Choice("customer", "the customer pays: quoted after the teardown"),
    Choice("warranty", "a claim on our earlier work: measured before it is opened"),
    Choice("exchange", "for the shop's exchange shelf"),
)
FIELDS = (
    Field(
        "serial",
        "Serial",
        free=True,
        complete=False,
        hint="as on the plate; two signs bring up known units",
    ),
    Field("model", "Model", hint="number, code or name; Down to choose"),
    Field("customer", "Customer", hint="code or name; Down to choose"),
    Field("complaint", "Complaint", hint="what the customer says of it, in their words"),
    Field("kind", "Kind of job", "customer", choices=KINDS, hint="who pays"),
    Field(
        "reference",
        "Their order",
        optional=True,
        hint="where several units belong together; may stay empty",
    ),
    Field(
        "promised",
        "Promised for",
        optional=True,
        hint="empty for the date offered; or a date such as 14 Mar, or +10",
    ),
)


def received(
    shop: "Shop", person: str, values: dict[str, str], offered: date | None, commit_key: str
) -> "SheetView":
    """Takes the core in, promised for the date typed or the one that was offered, and drops what
    was kept of the form."""
    from shopdesk.desk import counter, drafts

    today = shop.clock().astimezone().date()
    promised = read_date(values["promised"], today) if values["promised"] else offered
    core = counter.Core(
        serial=values["serial"],
        model=values["model"],
        customer=values["customer"],
        complaint=values["complaint"],
        reference=values["reference"],
        kind=values["kind"],
        promised_on=promised,
    )
    view = counter.receive_core(shop, person, core, commit_key=commit_key)
    for name, text in values.items():
        if text:
            drafts.keep(shop, f"{PLACE}/{name}", "")
    return view
