"""An order as the supplier gets it."""

from shopdesk.paper.blocks import Block, Table, Words
from shopdesk.paper.page import Paper
from shopdesk.paper.words import local
from shopdesk.rules.shop import money
from shopdesk.views.purchases import Order, Ordered


def laid(facts: Order) -> Paper:
    title = f"Order {facts.number}"
    return Paper(
        name=f"order-{facts.number}",
        title=title,
        shop=facts.shop,
        foot=f"{title}, {local(facts.at)}",
        made_at=facts.at,
        blocks=tuple(_blocks(facts)),
    )


def _blocks(facts: Order) -> list[Block]:
    to = ", ".join(part for part in (facts.supplier, facts.email) if part)
    who = (
        ("To", f"{to} ({facts.supplier_code})", "Ordered", local(facts.at)),
        ("From", f"{facts.shop}, {facts.by}", "Wanted by", facts.due_on.isoformat()),
    )
    heads = ("Part", "What", "Size, material", "Pieces", "Each", facts.currency)
    found: list[Block] = [
        Table(("", "", "", ""), (10, 66, 12, 24), who),
        Table(heads, (20, 40, 22, 8, 11, 13), tuple(map(_row, facts.lines))),
        Words("", (f"Total {money(facts.cents, facts.currency)}",), boxed=True),
    ]
    if any(line.cures for line in facts.lines):
        said = (
            "Seals: each bag closed and marked with compound, lot and cure date "
            f"({facts.seal_standard}), with its certificate."
        )
        found.append(Words("", (said,)))
    return [*found, Words("", (f"Give the order's number, {facts.number}, on bags and papers.",))]


def _row(line: Ordered) -> tuple[str, ...]:
    return (
        line.part,
        line.description,
        line.material or "-",
        str(line.pieces),
        money(line.unit_cost_cents),
        money(line.cents),
    )
