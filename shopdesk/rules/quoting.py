"""The quote: kit at cost and margin, labour at the shop's rate, the procedure's minutes."""

from collections.abc import Mapping
from dataclasses import dataclass

from shopdesk.procedure import Line
from shopdesk.rules.generated import Approval, Issue, Quoting
from shopdesk.rules.sheet import Sheet, State
from shopdesk.rules.shop import money


@dataclass(frozen=True, slots=True)
class QuoteItem:
    """``kind`` is part, labour or margin; ``cents`` for the whole quantity."""

    kind: str
    text: str
    quantity: float
    cents: int
    part: str = ""


def draw_up(
    sheet: Sheet, unit_cost_cents: Mapping[str, int], description: Mapping[str, str]
) -> tuple[QuoteItem, ...]:
    """The lines of a quote for the job as its teardown stands."""
    items = [
        QuoteItem(
            "part",
            f"{line.part} {description.get(line.part, '')}".strip(),
            line.quantity,
            line.quantity * unit_cost_cents.get(line.part, 0),
            line.part,
        )
        for line in asked_issues(sheet)
    ]
    parts_cents = sum(item.cents for item in items)
    items.extend(_labour(sheet))
    margin = round(parts_cents * sheet.shop.margin_percent / 100)
    if margin:
        items.append(QuoteItem("margin", "handling of parts", 1, margin))
    return tuple(items)


def asked_issues(sheet: Sheet) -> tuple[Issue, ...]:
    return tuple(
        state.line
        for state in sheet.section("parts")
        if isinstance(state.line, Issue) and state.state is not State.NOT_ASKED
    )


def _labour(sheet: Sheet) -> list[QuoteItem]:
    labour = sheet.shop.labour
    return [
        QuoteItem("labour", section, minutes / 60, round(labour.cents_in(section) * minutes / 60))
        for section, minutes in sheet.procedure.labour_minutes
        if minutes
    ]


def said(sheet: Sheet, line: Line) -> str:
    """What the quote's own lines hold, which are answered at the counter: its sum and day, and who
    said what to it; "" for any other line and where there is none yet."""
    quote = sheet.facts.quote
    if quote is None:
        return ""
    if isinstance(line, Quoting):
        return f"{money(quote.total_cents, sheet.shop.currency)} on {quote.at.astimezone():%d %b}"
    if not isinstance(line, Approval) or not quote.answer:
        return ""
    cap = f" up to {money(quote.cap_cents)}" if quote.cap_cents else ""
    return f"{quote.answer}{cap}, {quote.how}: {quote.who}"
