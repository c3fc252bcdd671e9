"""The stores' forms: a delivery received, prices, a lot scrapped, put aside, given back, moved."""

from datetime import date
from typing import TYPE_CHECKING

from shopdesk.errors import BadInput
from shopdesk.tui.columns import day
from shopdesk.tui.dates import read_date
from shopdesk.tui.filling import Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.stores import mates

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.shop import Harvest
    from shopdesk.tui.app import ShopApp
    from shopdesk.views.offers import Offers
    from shopdesk.views.stores import LotRow


def receive(app: "ShopApp", part: str, purchase: int | None = None) -> FormScreen:
    """The delivery form, beginning with the part under the cursor, against its purchase."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import stores
        from shopdesk.rules.matched import lot_and_set

        pieces, kept, _ = given["pieces"].casefold().partition("kept")
        lot, of_set = lot_and_set(given["lot"])
        delivery = stores.Delivery(
            part=given["part"],
            lot=lot,
            pieces=pieces_of(pieces.strip()),
            purchase=purchase,
            surplus=bool(kept),
            cured=given["cured"],
            certificate=given["certificate"],
            set_number=of_set,
        )
        served = stores.receive(shop, app.person, delivery)
        said = f"{delivery.pieces} of {delivery.part.upper()} on the shelf, lot {delivery.lot}"
        said += mates.in_set(shop, delivery.part, of_set)
        return said + (f"; reserved for {', '.join(served)}, which waited" if served else "")

    form = FormScreen(
        "Stores: receive a delivery" + (f" of purchase {purchase}" if purchase else ""),
        (
            Field("part", "Part", part, hint="the part number on the bag, typed or scanned"),
            Field(
                "lot",
                "Lot",
                hint="the maker's number, or one of yours; of a matched set: B-7 of set M-7",
            ),
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


def scrap(app: "ShopApp", part: str, lot: "LotRow") -> FormScreen:
    """Pieces of a lot nobody may fit any more."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counts

        pieces = pieces_of(given["pieces"])
        losers = counts.scrap(shop, app.person, part, lot.number, pieces, given["reason"])
        broken = f"set {lot.set_number} is broken" if lot.matched else ""
        said = f"{pieces} of lot {lot.number} scrapped{counts.given_up(losers)}"
        return mates.ends(said, broken, lot, "put aside")

    return FormScreen(
        f"Scrap pieces of lot {lot.number} of {part}",
        (
            Field("pieces", "Pieces", hint=f"how many of the {lot.on_hand}"),
            Field("reason", "Reason", hint="what is wrong with them"),
        ),
        deed,
        context=mates.brought(
            lot, "Scrapping it breaks the set: what is left is put aside, mate to nothing."
        ),
    )


def put_aside(app: "ShopApp", part: str, lot: "LotRow") -> FormScreen:
    """A lot into quarantine, or out of it again."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counts

        aside = counts.put_aside(shop, app.person, part, lot.number, given["reason"])
        said = "in quarantine" if aside else "back in use"
        return mates.ends(f"lot {lot.number} is {said}", "", lot, "too")

    what = "Let out of quarantine" if lot.quarantined else "Put into quarantine"
    return FormScreen(
        f"{what}: lot {lot.number} of {part}",
        (Field("reason", "Reason", hint="what was found, or who said so"),),
        deed,
        context=(
            "Nothing is issued from a lot in quarantine. A manager lets it out.",
            *mates.brought(lot, "They go with it."),
        ),
    )


def give_back(app: "ShopApp", lot: "LotRow") -> FormScreen:
    """Pieces a job was issued and did not use."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import stores

        tag = job_of(given["job"])
        pieces = pieces_of(given["pieces"])
        stores.give_back(shop, app.person, tag, lot.number, pieces, given["reason"])
        return f"{pieces} of lot {lot.number} are back from J-{tag}"

    return FormScreen(
        f"Give back pieces of lot {lot.number}",
        (
            Field("job", "Job", hint="the tag of the job they were issued to"),
            Field("pieces", "Pieces", hint="how many come back"),
            Field("reason", "Reason", hint="why they were not used"),
        ),
        deed,
        context=mates.brought(lot, "They come back with it."),
    )


def move_bin(app: "ShopApp", part: str) -> FormScreen:
    """A part with all its lots into another bin."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counts

        was = counts.move_bin(shop, app.person, part, given["bin"])
        return f"{part} lies in {given['bin'].strip().upper()} now" + (
            f", not {was}" if was else ""
        )

    field = Field("bin", "To bin", hint="where all its lots lie from now on")
    return FormScreen(f"Move {part} to another bin", (field,), deed)


def transfer(app: "ShopApp", part: str, lot: "LotRow") -> FormScreen:
    """One lot into a bin of its own."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import counts

        was = counts.transfer(shop, app.person, part, lot.number, given["bin"])
        said = f"lot {lot.number} lies in {given['bin'].strip().upper()} now"
        return mates.ends(said + (f", not {was}" if was else ""), "", lot, "with it")

    field = Field("bin", "To bin", hint=f"where its {lot.on_hand} pieces lie from now on")
    return FormScreen(
        f"Move lot {lot.number} of {part} to another bin",
        (field,),
        deed,
        context=mates.brought(lot, "They go with it."),
    )


def match(app: "ShopApp", part: str, lot: "LotRow") -> FormScreen:
    """Pieces of this lot and of lots of other parts made one matched set; a lot of one taken apart
    from its mates."""
    if lot.matched:
        return _take_apart(app, lot)

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import mating
        from shopdesk.rules.matched import picks

        chosen = ((part, lot.number, pieces_of(given["pieces"])), *picks(given["mates"]))
        made = mating.make_up(shop, app.person, given["set"], chosen, given["reason"])
        return f"matched set {given['set'].strip().upper()}: {'; '.join(made)}"

    return FormScreen(
        f"Make a matched set of lot {lot.number} of {part}",
        (
            Field("set", "Set", hint="its number, as on the tag on the parts"),
            Field("pieces", "Pieces", "1", hint=f"how many of the {lot.on_hand} belong to the set"),
            Field("mates", "With", hint="part and lot of each: BORE-40 lot L-3; 9 SHOE lot L-4"),
            Field("reason", "Reason", hint="who lapped them to one another, or how it is known"),
        ),
        deed,
        context=("They leave their lots and stay together: issued, moved, put aside as one.",),
    )


def _take_apart(app: "ShopApp", lot: "LotRow") -> FormScreen:
    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import mating

        mating.take_apart(shop, app.person, lot.set_number, given["reason"])
        return f"set {lot.set_number} is taken apart"

    return FormScreen(
        f"Take matched set {lot.set_number} apart",
        (Field("reason", "Reason", hint="why they are no set, or who says so"),),
        deed,
        context=mates.brought(lot, "They go each for itself from then on, or into a new set."),
    )


def bring(app: "ShopApp", part: str, job: str = "") -> FormScreen:
    """What the customer of a job brought for it."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import stores
        from shopdesk.rules.matched import lot_and_set

        tag = job_of(given["job"])
        lot, of_set = lot_and_set(given["lot"])
        delivery = stores.Delivery(
            part=given["part"],
            lot=lot,
            pieces=pieces_of(given["pieces"]),
            cured=given["cured"],
            certificate=given["certificate"],
            job=tag,
            set_number=of_set,
        )
        served = stores.receive(shop, app.person, delivery)
        said = f"{delivery.pieces} of {delivery.part.upper()} are kept for J-{tag} alone"
        said += mates.in_set(shop, delivery.part, of_set)
        return said + (f"; reserved for {', '.join(served)}, which waited" if served else "")

    form = FormScreen(
        "Parts a customer brings for a job",
        (
            Field("job", "Job", job, hint="its tag, such as J-1047"),
            Field("part", "Part", part, hint="as the job's kit names it"),
            Field("pieces", "Pieces", hint="how many came, counted"),
            Field("lot", "Lot", hint="as on the bag; else one is made of the tag", optional=True),
            Field(
                "cured", "Cured", hint="quarter and year for rubber, such as 2Q2025", optional=True
            ),
            Field("certificate", "Certificate", hint="its number", optional=True),
        ),
        deed,
        context=(
            "They go into this job alone, before the shelf's, and cost nothing; what is left over "
            "goes back with the unit.",
        ),
    )
    form.fields.go("pieces" if part and job else "part" if job else "job")
    return form


def harvest(app: "ShopApp", part: str, rules: "Harvest") -> FormScreen:
    """A used part out of a scrapped or exchange core, graded."""
    grades = tuple(
        Choice(word, f"{percent:g} % of a new one's cost") for word, percent in rules.grades
    )
    said = f"Graded by {rules.source}." if rules.source else "The shop's rules have no grades yet."

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import lots

        tag, pieces = job_of(given["job"]), pieces_of(given["pieces"])
        number = lots.harvest(
            shop,
            app.person,
            tag,
            part,
            pieces,
            given["grade"],
            lot=given["lot"],
            left_by=given["left_by"],
        )
        return f"{pieces} of {part} used, out of J-{tag}: lot {number}"

    return FormScreen(
        f"A used {part} out of a core",
        (
            Field("job", "Out of job", hint="the tag of the scrapped unit or exchange core"),
            Field("pieces", "Pieces", "1", hint="how many were taken out and looked at"),
            Field("grade", "Grade", hint="a word of the shop's rules", choices=grades),
            Field(
                "left_by",
                "Left by",
                hint="who of the customer leaves it to the shop; none for the shop's own core",
                optional=True,
            ),
            Field("lot", "Lot", hint="a number of its own; else one is made", optional=True),
        ),
        deed,
        context=("It is never new: lines that ask for a new part refuse it.", said),
    )


def job_of(text: str) -> int:
    """A job's number from its tag as typed. Raises BadInput."""
    tag = text.strip().upper().removeprefix("J-")
    if not (tag.isascii() and tag.isdigit() and len(tag) < 10):
        raise BadInput(f"job: read {text[:20]!r}, expected a tag such as J-1047")
    return int(tag)


def prices(app: "ShopApp", part: str, offers: "Offers") -> FormScreen:
    """What a supplier asks for the part, by quantity, as it stands with the cheapest."""
    from shopdesk.rules import prices as rules

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import purchases

        asked = rules.breaks(given["prices"])
        least, pack = pieces_of(given["least"]), pieces_of(given["pack"])
        purchases.set_prices(shop, app.person, part, given["supplier"], asked, least, pack)
        return f"{part} from {given['supplier']}: {rules.said(asked)}, at least {least}"

    first = offers.rows[0] if offers.rows else None
    context = [
        f"{row.supplier} {row.name}: {rules.said(row.prices)}, at least {row.least_pieces}"
        for row in offers.rows
    ]
    return FormScreen(
        f"What {part} costs to buy",
        (
            Field(
                "supplier",
                "Supplier",
                first.supplier if first else "",
                choices=tuple(Choice(code, name) for code, name in offers.suppliers),
            ),
            Field(
                "prices",
                "Prices",
                rules.said(first.prices) if first else "",
                hint="a piece, from how many on: 1: 0.30; 25: 0.27; 100: 0.22",
            ),
            Field(
                "least",
                "Least pieces",
                str(first.least_pieces if first else 1),
                hint="the fewest this supplier sells",
            ),
            Field("pack", "Pack", str(offers.pack), hint="orders are rounded up to whole packs"),
        ),
        deed,
        context=context or ("No supplier is known for it yet.",),
    )


def put_off(app: "ShopApp", number: int, due: date) -> FormScreen:
    """Another day for what is still due of a purchase."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import purchases

        today = shop.clock().astimezone().date()
        on = read_date(given["due"], today)
        was = purchases.put_off(shop, app.person, number, on, given["reason"])
        return f"purchase {number} is due {day(on, today)} now, not {day(was, today)}"

    return FormScreen(
        f"Another day for purchase {number}",
        (
            Field("due", "Due on", hint="the day the supplier names: 14 Mar, 2027-03-14, +10"),
            Field("reason", "Reason", hint="who said so, and why"),
        ),
        deed,
        context=(f"Due until now on {due:%d %b %Y}.",),
    )


def call_off(app: "ShopApp", number: int, part: str, left: int) -> FormScreen:
    """What is still due of a part by a purchase, and will not come."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import purchases

        off = purchases.call_off(shop, app.person, number, part, given["reason"])
        return f"{off} of {part} of purchase {number} called off"

    return FormScreen(
        f"Call off {part} of purchase {number}",
        (Field("reason", "Reason", hint="why they will not come, and who said so"),),
        deed,
        context=(f"{left} still to come: nothing waits for them any more.",),
    )


def pieces_of(text: str) -> int:
    """A whole number of pieces as typed. Raises BadInput."""
    if not (text.isascii() and text.isdigit() and len(text) < 8):
        raise BadInput(f"pieces: read {text[:20]!r}, expected a whole number such as 12")
    return int(text)
