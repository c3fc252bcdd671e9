"""The certificate's pages: head, foot, and its blocks between them."""

from collections.abc import Sequence

from shopdesk.paper import flow
from shopdesk.paper.blocks import Block
from shopdesk.paper.press import LACKING, MARGIN_MM, Press
from shopdesk.views.certificates import CertificateFacts

_TITLE = "Certificate of the work"


def pdf(facts: CertificateFacts, code: str, blocks: Sequence[Block], *, letter: bool) -> bytes:
    """The blocks under the certificate's head, its code in every foot."""

    def start() -> Press:
        return Press(letter=letter, title=f"{_TITLE} {facts.tag} {code}", made_at=facts.issued_at)

    def head(press: Press) -> float:
        return _head(press, facts)

    def later(press: Press) -> float:
        press.size(9, bold=True)
        press.put(MARGIN_MM, MARGIN_MM, f"{_TITLE}  {facts.tag}  serial {facts.serial}")
        return MARGIN_MM + press.line_mm + 1

    def foot(press: Press, page: int, pages: int) -> None:
        press.size(7)
        y = press.bottom - press.line_mm
        said = f"{facts.tag}  {_TITLE}, issue at {facts.issue}  code {code}"
        press.put(MARGIN_MM, y, said)
        if press.lacking:
            press.put(MARGIN_MM, y - press.line_mm, LACKING)
        press.put_right(MARGIN_MM + press.wide, y, f"page {page} of {pages}")

    return flow.on_fewest_pages(start, blocks, head, later, foot).output()


def _head(press: Press, facts: CertificateFacts) -> float:
    """Shop and title on the left, the job's tag and its code on the right."""
    right = MARGIN_MM + press.wide
    module, tall = 0.33, 8.0
    top = MARGIN_MM
    press.size(20, bold=True)
    press.put_right(right, top - 1.5, facts.tag)
    under = top - 1.5 + press.line_mm + 0.5
    wide = sum(_widths(facts.tag)) * module
    press.code(right - wide, under, facts.tag, module=module, height=tall)
    y = press.fitted(MARGIN_MM, top, (press.wide - wide - 20, 10), facts.shop, 11)
    press.size(15, bold=True)
    press.put(MARGIN_MM, y + 0.5, _TITLE)
    return max(y + 0.5 + press.line_mm, under + tall) + 0.5


def _widths(text: str) -> tuple[int, ...]:
    from shopdesk.paper import barcode

    return barcode.widths(text)
