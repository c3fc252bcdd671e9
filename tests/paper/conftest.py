"""Jobs of the desk's test shop, and independent eyes: pypdf reads the words of a page, PDFium draws
it, ZXing reads its codes."""

from collections.abc import Sequence
from io import BytesIO

import pypdf
import pypdfium2
import pytest
import zxingcpp

from tests.desk.conftest import at, clock, floor, stages

__all__ = ["at", "clock", "floor", "stages"]

DPI = 150


class Page:
    """A PDF as somebody sees it who knows nothing of how it was made."""

    def __init__(self, document: bytes) -> None:
        self._document = document
        self._pages = pypdf.PdfReader(BytesIO(document)).pages

    @property
    def count(self) -> int:
        return len(self._pages)

    @property
    def size_mm(self) -> tuple[float, float]:
        box = self._pages[0].mediabox
        return round(float(box.width) * 25.4 / 72, 1), round(float(box.height) * 25.4 / 72, 1)

    def text(self, page: int | None = None) -> str:
        """Its words with single spaces between them."""
        chosen = self._pages if page is None else [self._pages[page]]
        return " ".join(" ".join(each.extract_text().split()) for each in chosen)

    def codes(self) -> Sequence[tuple[str, str]]:
        """Symbology and text of every code on the first page."""
        document = pypdfium2.PdfDocument(self._document)
        picture = document[0].render(scale=DPI / 72).to_pil()
        found = zxingcpp.read_barcodes(picture)
        return [(each.format.name, each.text) for each in found]

    def ink_mm(self) -> tuple[float, float, float, float]:
        """How far the ink of the first page stays from its left, top, right and lower edge."""
        document = pypdfium2.PdfDocument(self._document)
        picture = document[0].render(scale=DPI / 72, grayscale=True).to_pil()
        box = picture.point(lambda level: 255 if level < 128 else 0).getbbox()
        assert box is not None
        edges = (box[0], box[1], picture.width - box[2], picture.height - box[3])
        left, top, right, low = (edge * 25.4 / DPI for edge in edges)
        return left, top, right, low


@pytest.fixture(scope="session")
def read() -> type[Page]:
    return Page
