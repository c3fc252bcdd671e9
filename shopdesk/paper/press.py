"""Drawing on pages: the font and the letters it lacks, wrapped text, codes for scanners.

The font is Open Sans (Apache License 2.0) out of ``ttf-opensans``, 0.6 MB of fixed weights: Latin,
Greek, Cyrillic and Vietnamese. Variable fonts that hold more take seconds to be made fixed for
each paper. A letter it lacks is printed as its Unicode number, and the paper says so: a number
is read back without doubt, a transliteration is not.
"""

from datetime import UTC, datetime
from importlib import resources
from typing import TYPE_CHECKING, Any

from shopdesk.errors import ShopError
from shopdesk.paper import barcode
from shopdesk.paper.blocks import broken, code_point, visible

if TYPE_CHECKING:
    from fpdf import FPDF

FONT = "paper"
FACES = {"": "OpenSans-Regular.ttf", "B": "OpenSans-Bold.ttf"}
LACKING = "[U+...]: letters this paper's font lacks stand as their Unicode numbers."
MARGIN_MM = 10.0
UNDATED = datetime(2000, 1, 1, tzinfo=UTC)
_MM_PER_POINT = 25.4 / 72
_LEADING, _ASCENT = 1.17, 0.92  # of the type size
_SMALLEST_POINTS = 6.0


class NoFont(ShopError):
    """The font's package is not installed."""


class Press:
    """One document. Lengths in mm from the page's upper left corner, type in points. ``lacking``
    turns true once a letter had to be printed as its number."""

    def __init__(self, *, letter: bool, title: str, made_at: datetime = UNDATED) -> None:
        self.pdf = _document(letter, title, made_at)
        self._faces: dict[str, Any] = {style: self.pdf.fonts[FONT + style] for style in FACES}
        cmaps = (_map(face, "cmap") for face in self._faces.values())
        self._letters = frozenset.intersection(*map(frozenset, cmaps))
        self._widths = {style: _map(face, "cw") for style, face in self._faces.items()}
        self._points, self._style = 8.0, ""
        self._broken: dict[tuple[str, float, float, str], tuple[str, ...]] = {}
        self._legible: dict[str, str] = {}
        self.lacking = False

    @property
    def wide(self) -> float:
        """Width between the margins."""
        return float(self.pdf.w) - 2 * MARGIN_MM

    @property
    def bottom(self) -> float:
        return float(self.pdf.h) - MARGIN_MM

    @property
    def line_mm(self) -> float:
        return self._points * _MM_PER_POINT * _LEADING

    def size(self, points: float, *, bold: bool = False) -> None:
        self._points, self._style = points, "B" if bold else ""
        if self.pdf.page:
            self.pdf.set_font(FONT, self._style, points)

    def legible(self, text: str) -> str:
        """The text in letters the font has, the others as their numbers."""
        shown = self._legible.get(text)
        if shown is None:
            letters = (c if ord(c) in self._letters else code_point(c) for c in visible(text))
            shown = self._legible[text] = "".join(letters)
            self.lacking = self.lacking or ("[U+" in shown and "[U+" not in text)
        return shown

    def width(self, text: str) -> float:
        """Of legible text in the type that is set."""
        widths = self._widths[self._style]
        return float(sum(widths[ord(char)] for char in text)) * self._points * _MM_PER_POINT / 1000

    def lines(self, text: str, width: float) -> tuple[str, ...]:
        """The text broken at spaces, or inside a word that is too long, to this width."""
        key = (text, width, self._points, self._style)
        if key not in self._broken:
            self._broken[key] = tuple(broken(self.legible(text), width, self.width))
        return self._broken[key]

    def put(self, x: float, y: float, text: str) -> None:
        """One line of text, the top of its line at ``y``."""
        down = self._points * _MM_PER_POINT * _ASCENT
        self.pdf.text(x, y + down, self.legible(text))

    def put_right(self, x: float, y: float, text: str) -> None:
        """One line of text that ends at ``x``."""
        self.put(x - self.width(self.legible(text)), y, text)

    def paragraph(self, x: float, y: float, width: float, text: str) -> float:
        """Wrapped text from ``y`` down; gives back where it ends."""
        for line in self.lines(text, width):
            self.put(x, y, line)
            y += self.line_mm
        return y

    def fit(self, room: tuple[float, float], text: str, points: float) -> float:
        """Sets bold type as large up to ``points`` as stands in ``room`` (width, height) without
        a broken word; gives back the height it takes."""
        width, height = room
        self.size(points, bold=True)
        while points > _SMALLEST_POINTS and not self._stands(text, width, height):
            points *= 0.95
            self.size(points, bold=True)
        return len(self.lines(text, width)) * self.line_mm

    def fitted(
        self, x: float, y: float, room: tuple[float, float], text: str, points: float
    ) -> float:
        """The text in the type that ``fit`` sets; gives back where it ends."""
        self.fit(room, text, points)
        return self.paragraph(x, y, room[0], text)

    def _stands(self, text: str, width: float, height: float) -> bool:
        whole = all(self.width(word) <= width for word in self.legible(text).split())
        return whole and len(self.lines(text, width)) * self.line_mm <= height

    def code(self, x: float, y: float, text: str, *, module: float, height: float) -> float:
        """A Code 128 symbol with its first bar at ``x``; gives back its width in mm."""
        at = x
        for n, modules in enumerate(barcode.widths(text)):
            if n % 2 == 0:
                self.pdf.rect(at, y, modules * module, height, style="F")
            at += modules * module
        return at - x

    def output(self) -> bytes:
        """The finished document; nothing can be drawn on it afterwards."""
        document = bytes(self.pdf.output())
        self.close()
        return document

    def close(self) -> None:
        """Lets go of the font's files, which fpdf reads from until the document is made."""
        for face in self._faces.values():
            face.ttfont.close()


def _map(face: Any, name: str) -> dict[int, Any]:
    """What the font says of each letter: its glyph ("cmap"), its width in thousandths ("cw")."""
    found = getattr(face, name)
    assert isinstance(found, dict)
    return found


def _document(letter: bool, title: str, made_at: datetime) -> "FPDF":
    from fpdf import FPDF

    pdf = FPDF(format="Letter" if letter else "A4", unit="mm")
    pdf.set_auto_page_break(False)
    pdf.set_creation_date(made_at)
    pdf.set_title(visible(title))
    pdf.set_lang("en")
    pdf.c_margin = 0
    try:
        folder = resources.files("ttf_opensans") / "ttf"
    except ModuleNotFoundError as error:
        raise NoFont(
            "Papers are printed in the font of the package ttf-opensans, which is not installed; "
            "install it, or ask for the paper as text."
        ) from error
    for style, name in FACES.items():
        with resources.as_file(folder / name) as path:
            pdf.add_font(FONT, style, path)
    return pdf
