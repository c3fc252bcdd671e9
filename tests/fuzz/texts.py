"""Random and nasty strings."""

import random

PASTE = 1_000_000
HOSTILE = (
    "\0", "\x1b[31m", "[/]", "[bold]", "\u202e", "🛢️", "'; DROP TABLE entry;--", "=1+1", "\ud800",
    "1e999", "-1e-999", "nan", "inf", "٣٤", "²", "½", "1/0", "3 5/0 in", "1_000", "𝟙", "9" * 400,
)  # fmt: skip
SPOKEN = (
    "35 in-lb", "62 bar at 21 C", "3 5/16 in", "five thou", "1,234.5", "31.2.2026", "2Q2019",
    "0 h=1 bar@2 C", "1/5 in", "half", "12 %",
)  # fmt: skip


def string(rng: random.Random, *, paste: float = 0.0005) -> str:
    """``paste`` is the share of strings of a megabyte."""
    kind = rng.random()
    if kind < paste:
        piece = rng.choice(("9", "a", "1 ", "[", "½", "-", "1/", "\0", "a\n", "\u202e"))
        return piece * (PASTE // len(piece))
    kind = rng.random()
    if kind < 0.4:
        return " ".join(rng.choices(HOSTILE + SPOKEN, k=rng.randint(1, 4)))
    if kind < 0.7:
        top = rng.choice((0x7F, 0x2FFF, 0x10FFFF))
        return "".join(chr(rng.randint(0, top)) for _ in range(rng.randint(0, 12)))
    bent = list(rng.choice(SPOKEN))
    for _ in range(rng.randint(1, 4)):
        bent.insert(rng.randint(0, len(bent)), rng.choice("0123456789 ./-,eE°²½٣@=\0"))
    return "".join(bent)
