"""The quote as the customer gets it: what was found, what it costs, until when it holds."""

from datetime import timedelta

from shopdesk.paper.blocks import Block, Table, Words
from shopdesk.paper.page import Paper
from shopdesk.paper.words import by_hand, local, whose
from shopdesk.rules.shop import money
from shopdesk.views.figures import Defect, defects
from shopdesk.views.quotes import QuotedLine, QuoteSeen, told
from shopdesk.views.sheets import SheetView, tag

TITLE = "Quote"


def laid(view: SheetView, quote: QuoteSeen) -> Paper:
    name, revision = tag(view.heading.number), quote.rules.revision
    return Paper(
        name=f"{name}-quote",
        title=TITLE,
        shop=quote.rules.name,
        foot=f"{name}  {TITLE} of {local(quote.at)}  shop rules revision {revision}",
        made_at=quote.at,
        blocks=tuple(_blocks(view, quote)),
        tag=name,
    )


def _blocks(view: SheetView, quote: QuoteSeen) -> list[Block]:
    rules = quote.rules
    until = (quote.at + timedelta(days=rules.answer_days)).astimezone().date()
    fee = money(rules.inspection_fee_cents, quote.currency)
    found: list[Block] = [whose(view.heading)]
    worn = [each for state in view.sheet.lines for each in defects(state) if each.disposition]
    if worn:
        rows = tuple(_worn(each) for each in worn)
        found.append(
            Table(("Found", "What", "Where and how much", "To do"), (26, 22, 36, 16), rows)
        )
    found.append(_amounts(quote))
    found.append(Words("", (f"Total {money(quote.total_cents, quote.currency)}",), boxed=True))
    terms = (
        f"Made by {quote.made_by}, {local(quote.at)}; holds until {until.isoformat()}. No work "
        "goes beyond the amount you agree to. If you decline, the unit goes back as it is and an "
        f"inspection fee of {fee} is due."
    )
    found.append(Words("", (terms,)))
    if quote.answer:
        cap = f", up to {money(quote.cap_cents, quote.currency)}" if quote.cap_cents else ""
        found.append(Words("", (f"Answered: {quote.answer} by {quote.answered_by}{cap}.",)))
    else:
        found.append(by_hand("Agreed up to", "By", "On"))
    return found


def _worn(each: Defect) -> tuple[str, ...]:
    return (each.part, each.condition, each.detail, each.disposition)


def _amounts(quote: QuoteSeen) -> Table:
    rows = tuple((_text(line), _quantity(line), money(line.cents)) for line in told(quote.lines))
    return Table(("Work and parts", "Quantity", quote.currency), (60, 14, 14), rows)


def _text(line: QuotedLine) -> str:
    return f"Work: {line.text}" if line.kind == "labour" else line.text


def _quantity(line: QuotedLine) -> str:
    return f"{line.quantity:.1f} h" if line.kind == "labour" else f"{line.quantity:g}"
