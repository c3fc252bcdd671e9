"""Prices by quantity, as people write them: "25: 0.27; 100: 0.22"."""

from itertools import pairwise

from shopdesk.errors import BadInput
from shopdesk.rules.shop import cents, money

Prices = tuple[tuple[int, int], ...]
"""(from pieces, cents a piece), in rising order of pieces."""

MOST_PIECES = 9_999_999


def breaks(text: str) -> Prices:
    """The breaks a text names, none for an empty one. Raises BadInput naming what was read."""
    found = []
    for each in text.replace("\n", ";").split(";"):
        if not each.strip():
            continue
        start, colon, price = each.partition(":")
        start = start.strip()
        if not colon or not (start.isascii() and start.isdigit() and len(start) < 8):
            raise BadInput(
                f"read {each.strip()[:40]!r}, expected pieces and a price: 25: 0.27; 100: 0.22"
            )
        found.append((int(start), cents(price)))
    return tuple(found)


def said(prices: Prices) -> str:
    """As ``breaks`` reads them again."""
    return "; ".join(f"{start}: {money(price).replace(',', '')}" for start, price in prices)


def check_pieces(pieces: int) -> None:
    """Raises BadInput for pieces that nobody receives or orders."""
    if not 1 <= pieces <= MOST_PIECES:
        raise BadInput(f"read {str(pieces)[:20]} pieces; expected 1 to {MOST_PIECES}")


def check(prices: Prices, least_pieces: int = 1) -> None:
    """Raises BadInput where quantities do not rise or prices do not fall, or there is none."""
    if not 1 <= least_pieces <= MOST_PIECES:
        raise BadInput(f"least pieces: read {least_pieces}, expected 1 or more")
    if not prices or prices[0][0] != 1 or prices[0][1] < 0:
        raise BadInput("prices: the first is the price of 1 piece")
    for (start, price), (later, lower) in pairwise(prices):
        if later <= start or lower > price or lower < 0:
            raise BadInput(
                f"prices: read {money(price)} from {start}, then {money(lower)} from {later}; "
                "quantities rise and prices fall"
            )
