"""A paper as blocks under a head: the same as PDF, in the largest type on the fewest pages, and as
plain text."""

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from shopdesk.paper import barcode
from shopdesk.paper.blocks import Block, Words, as_text

if TYPE_CHECKING:
    from shopdesk.paper.press import Press

_MODULE, _TALL = 0.33, 8.0


@dataclass(frozen=True, slots=True)
class Paper:
    """``name`` is its file's; ``tag`` stands large beside its code, "" for a paper of no job;
    ``foot`` says on every page what it is and by which revision; ``made_at`` dates the file."""

    name: str
    title: str
    shop: str
    foot: str
    made_at: datetime
    blocks: tuple[Block, ...]
    tag: str = ""
    later: str = ""
    text_head: str = ""


def text(paper: Paper) -> str:
    """For a terminal of 80 columns."""
    head = paper.text_head or "  ".join(part for part in (paper.title, paper.tag) if part)
    top = as_text([Words("", tuple(line for line in (paper.shop, head) if line))])
    return f"{top}\n{as_text(paper.blocks)}\n{as_text([Words('', (paper.foot,))])}"


def pdf(paper: Paper, *, letter: bool = False) -> bytes:
    """On A4 or Letter; the same paper gives the same bytes."""
    from shopdesk.paper import flow
    from shopdesk.paper.press import LACKING, MARGIN_MM, Press

    def start() -> Press:
        title = " ".join(part for part in (paper.title, paper.tag) if part)
        return Press(letter=letter, title=title, made_at=paper.made_at)

    def head(press: Press) -> float:
        return _head(press, paper)

    def later(press: Press) -> float:
        press.size(9, bold=True)
        said = paper.later or f"{paper.title}  {paper.tag}".strip()
        end = press.paragraph(MARGIN_MM, MARGIN_MM, press.wide, said)
        return end + 1

    def foot(press: Press, page: int, pages: int) -> None:
        press.size(7)
        y = press.bottom - press.line_mm
        press.put(MARGIN_MM, y, paper.foot)
        if press.lacking:
            press.put(MARGIN_MM, y - press.line_mm, LACKING)
        press.put_right(MARGIN_MM + press.wide, y, f"page {page} of {pages}")

    return flow.on_fewest_pages(start, paper.blocks, head, later, foot).output()


def _head(press: "Press", paper: Paper) -> float:
    """Shop and title on the left; the job's tag and its code on the right."""
    from shopdesk.paper.press import MARGIN_MM

    top, wide, under = MARGIN_MM, 0.0, MARGIN_MM
    if paper.tag:
        right = MARGIN_MM + press.wide
        press.size(20, bold=True)
        press.put_right(right, top - 1.5, paper.tag)
        at = top - 1.5 + press.line_mm + 0.5
        wide = sum(barcode.widths(paper.tag)) * _MODULE
        press.code(right - wide, at, paper.tag, module=_MODULE, height=_TALL)
        wide, under = wide + 20, at + _TALL
    y = press.fitted(MARGIN_MM, top, (press.wide - wide, 10), paper.shop, 11)
    end = press.fitted(MARGIN_MM, y + 0.5, (press.wide - wide, 16), paper.title, 15)
    return max(end, under) + 0.5
