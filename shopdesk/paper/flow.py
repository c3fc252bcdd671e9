"""Blocks laid down a page and on to the next: tables, running text, two tables abreast."""

from collections.abc import Callable, Sequence

from shopdesk.paper.blocks import Block, Table, Words, longest, shared_out
from shopdesk.paper.press import MARGIN_MM, Press

Drawn = Callable[[Press], float]
Footed = Callable[[Press, int, int], None]

SIZES = (8.5, 8.0, 7.5, 7.0, 6.5, 6.25, 6.0)
"""Type sizes tried, largest first: the largest on the fewest pages is taken."""

_GAP, _ABREAST = 1.6, 5.0
_ROW_AIR, _RULED_AIR, _HEAD_AIR, _RULE_AIR, _FRAME_AIR = 0.15, 1.2, 1.2, 0.6, 1.5
_FOOT_MM, _TOP_MM = 6.0, 12.0
_LOUD = ("OUTSIDE", "CHARGED", "UNKNOWN", "SHORT", "QUARANTINE")  # set bold


class Flow:
    """Lays blocks on a press. ``head`` draws the top of the first page and gives back where it
    ends, ``later`` that of each further page, ``foot`` the last line of every one."""

    def __init__(
        self, press: Press, points: float, head: Drawn, later: Drawn, foot: Footed, pages: int
    ) -> None:
        self.press, self.points = press, points
        self.later, self.foot, self.pages = later, foot, pages
        self.page = 0
        self.y = self._page(head)

    def _page(self, top: Drawn) -> float:
        self.press.pdf.add_page()
        self.page += 1
        self.foot(self.press, self.page, self.pages)
        return top(self.press)

    def _need(self, height: float) -> None:
        if self.y + height > self.press.bottom - _FOOT_MM:
            self.y = self._page(self.later)

    def lay(self, blocks: Sequence[Block]) -> None:
        """Two tables after one another that may, stand abreast where both fit the page."""
        left = list(blocks)
        while left:
            block = left.pop(0)
            pair = left[0] if left else None
            if (
                isinstance(block, Table)
                and isinstance(pair, Table)
                and block.beside
                and pair.beside
            ):
                left.pop(0)
                self._abreast(block, pair)
            elif isinstance(block, Table):
                self._table(block)
            else:
                self._words(block)

    # Tables ------------------------------------------------------------------------------------

    def _abreast(self, one: Table, other: Table) -> None:
        room = self.press.wide - _ABREAST
        left = room * one.beside / (one.beside + other.beside)
        height = max(self._height(one, left), self._height(other, room - left))
        if height > self.press.bottom - _FOOT_MM - MARGIN_MM - _TOP_MM:
            self._table(one)
            self._table(other)
            return
        self._need(height)
        top = self.y
        self._draw(one, MARGIN_MM, left, breaking=False)
        end, self.y = self.y, top
        self._draw(other, MARGIN_MM + left + _ABREAST, room - left, breaking=False)
        self.y = max(end, self.y)

    def _table(self, block: Table) -> None:
        self._draw(block, MARGIN_MM, self.press.wide, breaking=True)

    def _height(self, block: Table, width: float) -> float:
        columns = self._columns(block, width)
        rows = sum(self._row_mm(row, columns, block.room) for row in block.rows)
        return self._heads_mm(block, columns) + rows

    def _draw(self, block: Table, x: float, width: float, *, breaking: bool) -> None:
        columns = self._columns(block, width)
        first = self._row_mm(block.rows[0], columns, block.room) if block.rows else 0.0
        if breaking:
            self._need(self._heads_mm(block, columns) + first)
        self._heads(block.heads, x, columns)
        for row in block.rows:
            height = self._row_mm(row, columns, block.room)
            if breaking and self.y + height > self.press.bottom - _FOOT_MM:
                self._need(height)
                title = f"{block.heads[0]}, continued" if block.heads[0] else ""
                self._heads((title, *block.heads[1:]), x, columns)
            self._row(row, x, columns)
            self.y += height
            if block.room:
                self.press.pdf.set_line_width(0.1)
                self.press.pdf.line(x, self.y - 0.3, x + sum(columns), self.y - 0.3)

    def _columns(self, block: Table, width: float) -> list[float]:
        self._type(bold=True)
        words = longest(block, lambda word: self.press.width(self.press.legible(word)))
        least = [self.press.width(self.press.legible(word)) + _GAP + 0.1 for word in words]
        return shared_out(block.shares, least, width)

    def _heads_mm(self, block: Table, columns: Sequence[float]) -> float:
        if not any(block.heads):
            return 0.0
        self._type(bold=True)
        return self._lines(block.heads, columns) * self.press.line_mm + _HEAD_AIR + _RULE_AIR

    def _heads(self, heads: Sequence[str], x: float, columns: Sequence[float]) -> None:
        """Title and heads in one row over a rule."""
        if not any(heads):
            return
        self._type(bold=True)
        self.y += _HEAD_AIR
        down = self._lines(heads, columns) * self.press.line_mm
        at = x
        for cell, width in zip(heads, columns, strict=True):
            self.press.paragraph(at, self.y, width - _GAP, cell)
            at += width
        self.y += down
        self.press.pdf.set_line_width(0.25)
        self.press.pdf.line(x, self.y + 0.1, x + sum(columns), self.y + 0.1)
        self.y += _RULE_AIR

    def _lines(self, row: Sequence[str], columns: Sequence[float]) -> int:
        return max(
            len(self.press.lines(cell, width - _GAP))
            for cell, width in zip(row, columns, strict=True)
        )

    def _row_mm(self, row: Sequence[str], columns: Sequence[float], room: float) -> float:
        high = 0.0
        for cell, width in zip(row, columns, strict=True):
            self._type(bold=cell.startswith(_LOUD))
            high = max(high, len(self.press.lines(cell, width - _GAP)) * self.press.line_mm)
        return max(high + (_RULED_AIR if room else _ROW_AIR), room)

    def _row(self, row: Sequence[str], x: float, columns: Sequence[float]) -> None:
        for cell, width in zip(row, columns, strict=True):
            self._type(bold=cell.startswith(_LOUD))
            self.press.paragraph(x, self.y, width - _GAP, cell)
            x += width

    def _type(self, *, bold: bool) -> None:
        self.press.size(self.points, bold=bold)

    # Words -------------------------------------------------------------------------------------

    def _words(self, block: Words) -> None:
        inset = _FRAME_AIR if block.boxed else 0.0
        larger = 2 if block.boxed else 0
        self.press.size(self.points + larger, bold=block.boxed)
        width = self.press.wide - 2 * inset
        lines = [piece for line in block.lines for piece in self.press.lines(line, width)]
        heads = self._heads_mm(Table((block.title,), (1,), ()), (self.press.wide,))
        self.press.size(self.points + larger, bold=block.boxed)
        height = len(lines) * self.press.line_mm
        self._need(heads + height + 3 * inset)
        self._heads((block.title,), MARGIN_MM, (self.press.wide,))
        self.press.size(self.points + larger, bold=block.boxed)
        self.y += inset or _ROW_AIR
        if block.boxed:
            self.press.pdf.set_line_width(0.5)
            self.press.pdf.rect(MARGIN_MM, self.y, self.press.wide, height + inset)
        for line in lines:
            self.press.put(MARGIN_MM + inset, self.y + inset / 2, line)
            self.y += self.press.line_mm
        self.y += 2 * inset if block.boxed else _ROW_AIR


def on_fewest_pages(
    start: Callable[[], Press], blocks: Sequence[Block], head: Drawn, later: Drawn, foot: Footed
) -> Press:
    """The blocks in the largest type that needs the fewest pages, pages numbered x of y."""

    def laid(points: float, pages: int, lacking: bool) -> Flow:
        press = start()
        press.lacking = lacking
        flow = Flow(press, points, head, later, foot, pages)
        flow.lay(blocks)
        return flow

    tried: list[Flow] = []
    for points in SIZES:
        tried.append(laid(points, 0, False))
        if tried[-1].page == 1:
            break
    for flow in tried:
        flow.press.close()
    best = min(tried, key=lambda flow: (flow.page, -flow.points))
    return laid(best.points, best.page, best.press.lacking).press
