"""Jobs of the desk's test shop, and independent eyes: pypdf reads the words of a page, PDFium draws
it, ZXing reads its codes."""

from io import BytesIO

import pypdf
import pypdfium2
import zxingcpp
from PIL import Image

from tests.desk.conftest import at, clock, database, floor, stages, standing

__all__ = ["at", "clock", "database", "floor", "stages", "standing"]

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

    def codes(self) -> list[tuple[str, str]]:
        """Symbology and text of every code on the first page."""
        return [
            (str(found.format.name), found.text) for found in zxingcpp.read_barcodes(self._drawn())
        ]

    def ink_mm(self) -> tuple[float, float, float, float]:
        """How far the ink of the first page stays from its left, top, right and lower edge."""
        picture = self._drawn().convert("L")
        box = picture.point(lambda level: 255 if level < 128 else 0).getbbox()
        assert box is not None
        edges = (box[0], box[1], picture.width - box[2], picture.height - box[3])
        left, top, right, low = (edge * 25.4 / DPI for edge in edges)
        return left, top, right, low

    def _drawn(self) -> Image.Image:
        with pypdfium2.PdfDocument(self._document) as document:
            picture = document[0].render(scale=DPI / 72).to_pil()
        assert isinstance(picture, Image.Image)
        return picture
