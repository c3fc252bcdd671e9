"""A paper's content before it is drawn: the same blocks become PDF and plain text."""

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

COLUMNS = 77
"""A terminal of 80 columns less the mark and the scroll bar it is read beside."""
_GAP = 1
_LEAST, _WORD = 4, 14


@dataclass(frozen=True, slots=True)
class Table:
    """The first head is the table's title; no heads, no title. ``shares`` are the columns' parts of
    the width. ``beside``: may stand beside another, with this part of the width; 0: on its own.
    ``room``: the least height of a row in mm, for what is written by hand. ``cut``: in a terminal a
    row stays one line."""

    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    beside: float = 0
    room: float = 0
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """Running text; ``boxed`` stands out in a frame."""

    title: str
    lines: tuple[str, ...]
    boxed: bool = False


Block = Table | Words


def numbers(entries: Iterable[int]) -> str:
    """Entry numbers with runs drawn together: "#3-5, #9"."""
    runs: list[list[int]] = []
    for entry in sorted(set(entries)):
        if runs and entry == runs[-1][1] + 1:
            runs[-1][1] = entry
        else:
            runs.append([entry, entry])
    return ", ".join(f"#{low}" if low == high else f"#{low}-{high}" for low, high in runs)


def as_text(blocks: Sequence[Block], columns: int = COLUMNS) -> str:
    """The blocks for a terminal this wide."""
    parts = []
    for block in blocks:
        lines = _table(block, columns) if isinstance(block, Table) else _words(block, columns)
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n"


def _words(block: Words, columns: int) -> list[str]:
    lines = [block.title.upper(), *block.lines] if block.title else block.lines
    return [piece for line in lines for piece in wrapped(line, columns)]


def _table(block: Table, columns: int) -> list[str]:
    sizes = _sizes(block, columns)
    heads = (block.heads[0].upper(), *block.heads[1:])
    rows = [heads, *block.rows] if any(heads) else list(block.rows)
    lines = []
    for row in rows:
        laid = _cut if block.cut else wrapped
        cells = [laid(cell, size) for cell, size in zip(row, sizes, strict=True)]
        for n in range(max(len(cell) for cell in cells)):
            pieces = [cell[n] if n < len(cell) else "" for cell in cells]
            padded = (_padded(piece, size) for piece, size in zip(pieces, sizes, strict=True))
            lines.append((" " * _GAP).join(padded).rstrip())
    return lines


def _cut(text: str, columns: int) -> list[str]:
    """One line, with a mark where it goes on."""
    said = " ".join(visible(text).split())
    if width(said) <= columns:
        return [said]
    while width(said) >= columns:
        said = said[:-1]
    return [f"{said.rstrip()}…"]


def _sizes(block: Table, columns: int) -> list[int]:
    """Whole columns; what rounding leaves goes to the widest."""
    room = columns - _GAP * (len(block.shares) - 1)
    least = [max(_LEAST, width(word)) for word in longest(block, width)]
    sizes = [int(size) for size in shared_out(block.shares, least, room)]
    sizes[sizes.index(max(sizes))] += room - sum(sizes)
    return sizes


def longest(block: Table, measure: Callable[[str], float]) -> list[str]:
    """Of each column the widest word of its cells and heads but the title, that is not to be
    broken: very long ones are."""
    rows = [("", *block.heads[1:]), *block.rows]
    words = [[w for row in rows for w in row[n].split()] for n in range(len(block.shares))]
    return [
        max((w for w in column if len(w) <= _WORD), key=measure, default="") for column in words
    ]


def shared_out(shares: Sequence[float], least: Sequence[float], room: float) -> list[float]:
    """Widths by their shares, none under its least; what that takes comes from those with room
    to spare."""
    sizes = [max(low, room * share / sum(shares)) for low, share in zip(least, shares, strict=True)]
    over, spare = sum(sizes) - room, sum(sizes) - sum(least)
    if over <= spare:
        part = over / spare if spare else 0.0
        return [size - part * (size - low) for size, low in zip(sizes, least, strict=True)]
    return [room * share / sum(shares) for share in shares]


def wrapped(text: str, columns: int) -> list[str]:
    """Lines of at most this many columns, a wide character counting two; [""] for nothing."""
    return broken(visible(text), columns, width)


def broken(text: str, room: float, measure: Callable[[str], float]) -> list[str]:
    """The text broken at spaces, or inside a word that is too long, so that no line measures more
    than ``room``, unless one character does."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if measure(longer) <= room:
            lines[-1] = longer
            continue
        lines += [""] if lines[-1] else []
        lines[-1] = word
        while measure(lines[-1]) > room and len(lines[-1]) > 1:
            cut = _fitting(lines[-1], room, measure)
            lines[-1:] = [lines[-1][:cut], lines[-1][cut:]]
    return lines


def _fitting(word: str, room: float, measure: Callable[[str], float]) -> int:
    """How many of the word's letters stand in the room, at least one."""
    fits = (n for n in range(len(word) - 1, 1, -1) if measure(word[:n]) <= room)
    return next(fits, 1)


def width(text: str) -> int:
    """Terminal columns (Unicode Standard Annex 11: wide and full-width characters take two)."""
    return sum(
        0 if unicodedata.combining(c) else 1 + (unicodedata.east_asian_width(c) in "WF")
        for c in text
    )


def _padded(text: str, columns: int) -> str:
    return text + " " * max(0, columns - width(text))


def visible(text: str) -> str:
    """The text composed (NFC), with what no printer or terminal may be sent as its number."""
    composed = unicodedata.normalize("NFC", text)
    return "".join(code_point(c) if _hidden(c) else c for c in composed)


def _hidden(char: str) -> bool:
    return unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


def code_point(char: str) -> str:
    return f"[U+{ord(char):04X}]"
