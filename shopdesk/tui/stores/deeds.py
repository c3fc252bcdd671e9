"""The stores' forms: a delivery received, a lot counted."""

from typing import TYPE_CHECKING

from shopdesk.errors import BadInput
from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.app import ShopApp
    from shopdesk.views.stores import LotRow


def receive(app: "ShopApp", part: str, purchase: int | None = None) -> FormScreen:
    """The delivery form, beginning with the part under the cursor, against its purchase."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import stores

        pieces, kept, _ = given["pieces"].casefold().partition("kept")
        delivery = stores.Delivery(
            part=given["part"],
            lot=given["lot"],
            pieces=pieces_of(pieces.strip()),
            purchase=purchase,
            surplus=bool(kept),
            cured=given["cured"],
            certificate=given["certificate"],
        )
        served = stores.receive(shop, app.person, delivery)
        said = f"{delivery.pieces} of {delivery.part.upper()} on the shelf, lot {delivery.lot}"
        return said + (f"; reserved for {', '.join(served)}, which waited" if served else "")

    form = FormScreen(
        "Stores: receive a delivery" + (f" of purchase {purchase}" if purchase else ""),
        (
            Field("part", "Part", part, hint="the part number on the bag, typed or scanned"),
            Field("lot", "Lot", hint="the maker's lot number; give it one if there is none"),
            Field("pieces", "Pieces", hint="how many came, counted; 30 kept: more than ordered"),
            Field(
                "cured", "Cured", hint="quarter and year for rubber, such as 2Q2025", optional=True
            ),
            Field("certificate", "Certificate", hint="its number", optional=True),
        ),
        deed,
        commit="put on the shelf",
    )
    if part:
        form.fields.go("lot")
    return form


def count(app: "ShopApp", part: str, lot: "LotRow") -> FormScreen:
    """The count form of one lot."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counts

        counted = pieces_of(given["pieces"])
        difference = counts.count(shop, app.person, part, lot.number, counted, given["reason"])
        if difference == 0:
            return f"lot {lot.number}: {counted} as the ledger says"
        return f"lot {lot.number} is {counted} now, {difference:+d} by count"

    return FormScreen(
        f"Count lot {lot.number} of {part}",
        (
            Field("pieces", "Pieces counted", hint="what lies in the bin, 0 for none"),
            Field(
                "reason",
                "Reason",
                hint="where it differs from the ledger: what happened",
                optional=True,
            ),
        ),
        deed,
        context=(f"The ledger says {lot.on_hand}. A difference is recorded with its reason.",),
    )


def pieces_of(text: str) -> int:
    """A whole number of pieces as typed. Raises BadInput."""
    if not (text.isascii() and text.isdigit() and len(text) < 8):
        raise BadInput(f"pieces: read {text[:20]!r}, expected a whole number such as 12")
    return int(text)
