"""What to order, and what to count how often."""

from collections.abc import Sequence

from shopdesk.calc import stores
from shopdesk.desk.calculator import readers, values
from shopdesk.desk.calculator.forms import (
    Calculation,
    Field,
    Found,
    Kind,
    Value,
    incomplete,
    one_of,
)
from shopdesk.desk.calculator.given import Given
from shopdesk.errors import BadInput, BadQuantity
from shopdesk.quantities.clean import quoted

PIECES = "pcs"


def _order_quantity(given: Given) -> Found:
    demand, cost = given.si("demand"), given.si("order-cost")
    if given.has("break"):
        return _with_breaks(given, demand, cost)
    holding = _holding(given)
    found = stores.order_quantity(demand, cost, holding)
    return Found(
        {
            "order_quantity": values.plain(found.quantity, PIECES),
            "orders_per_year": values.plain(found.orders_per_year, "1/yr"),
            "annual_cost": values.plain(found.annual_cost),
            "to_order": _packed(given, found.quantity),
        },
        f"Q = √(2 D S/H) = √(2 × {demand:g} × {cost:g}/{holding:g}) = {found.quantity:.6g}",
        "Harris; Heizer and Render, Operations Management (from memory)",
        ("Steady demand, delivered at once; the cost is of ordering and holding, without price.",),
    )


def _holding(given: Given) -> float:
    if given.has("holding-cost"):
        return given.si("holding-cost")
    if given.has("holding-share", "price"):
        return given.si("holding-share") * given.si("price")
    raise one_of("order-quantity", "holding-cost", "holding-share and price")


def _with_breaks(given: Given, demand: float, cost: float) -> Found:
    if not given.has("holding-share"):
        raise incomplete("order-quantity with price breaks", [
            ORDER_QUANTITY.field("holding-share")
        ])  # fmt: skip
    found = stores.order_quantity_with_breaks(
        demand, cost, given.si("holding-share"), given.pairs("break")
    )
    tried = "; ".join(f"{q:.5g} at {p:g}: {c:.7g}" for q, p, c in found.considered)
    return Found(
        {
            "order_quantity": values.plain(found.quantity, PIECES),
            "unit_price": values.plain(found.unit_price),
            "annual_cost": values.plain(found.annual_cost, figures=7),
            "to_order": _packed(given, found.quantity),
        },
        f"D P + D S/Q + Q H/2 at each price: {tried}",
        "all-units discount, Heizer and Render (from memory)",
        ("Steady demand, delivered at once; the cost is with the price of the parts.",),
    )


def _packed(given: Given, quantity: float) -> Value:
    return values.whole(
        stores.packed(quantity, given.count("pack"), given.count("minimum")), PIECES
    )


ORDER_QUANTITY = Calculation(
    "order-quantity",
    "How many to order at a time",
    (
        Field("demand", Kind.NUMBER, "Pieces a year.", metavar="PIECES"),
        Field("order-cost", Kind.NUMBER, "Cost of one order.", metavar="MONEY"),
        Field("holding-cost", Kind.NUMBER, "Of one piece a year.", False, metavar="MONEY"),
        Field("holding-share", Kind.PERCENT, "Or as a share of the price.", False,
              metavar="PERCENT"),
        Field("price", Kind.NUMBER, "Price of one piece.", False, metavar="MONEY"),
        Field("break", Kind.PAIR, "A price from a quantity on: 100=4.20.", False, repeated=True,
              metavar="FROM=PRICE"),
        Field("pack", Kind.COUNT, "Pieces in a pack.", False, "1", metavar="PIECES"),
        Field("minimum", Kind.COUNT, "The supplier's minimum.", False, "0", metavar="PIECES"),
    ),
    _order_quantity,
    {"demand": "1000", "order-cost": "10", "holding-cost": "0.50"},
)  # fmt: skip


def _abc(given: Given) -> Found:
    worth = _yearly(given.many("value"))
    classes = stores.abc_classes(worth, given.si("a"), given.si("b"))
    total = sum(worth.values())
    results = {}
    for letter in "ABC":
        parts = sorted((p for p in worth if classes[p] == letter), key=lambda p: (-worth[p], p))
        results[letter.lower()] = values.words(", ".join(parts) or "none")
        share = sum(worth[p] for p in parts) / total if total else 0.0
        results[f"{letter.lower()}_share"] = values.percent(share, 1)
    return Found(
        results,
        f"{len(worth)} parts worth {total:.7g} a year, largest first: A begins below "
        f"{100 * given.si('a'):g} % of it, B below {100 * given.si('b'):g} %",
        "Pareto's rule, common practice",
        ("A cheap part that stops a job is worth more than its price: count it as A.",),
    )


def _yearly(entries: Sequence[str]) -> dict[str, float]:
    """Yearly value by part, from PART=VALUE."""
    found: dict[str, float] = {}
    for entry in entries:
        part, equals, value = entry.rpartition("=")
        name = part.strip()
        if not equals or not name:
            raise BadInput(f"value: {quoted(entry)} is no part; write PART=VALUE, such as P-7=420.")
        if name in found:
            raise BadInput(f"value: {quoted(name)} was given twice; give each part once.")
        try:
            found[name] = readers.number(value)
        except BadQuantity as fault:
            raise BadQuantity(f"value: of {quoted(name)}, {fault}") from None
    return found


ABC = Calculation(
    "abc",
    "Which parts are A, B and C by what is used of them in a year",
    (
        Field("value", Kind.WORDS, "Each part and its yearly value: P-7=420.", repeated=True,
              metavar="PART=VALUE"),
        Field("a", Kind.PERCENT, "Share of value A goes up to.", False, "80 %",
              metavar="PERCENT"),
        Field("b", Kind.PERCENT, "Share A and B together go up to.", False, "95 %",
              metavar="PERCENT"),
    ),
    _abc,
    {"value": "P-1=4200\nP-2=2600\nP-3=900\nP-4=240\nP-5=60"},
)  # fmt: skip

CALCULATIONS = (ORDER_QUANTITY, ABC)
