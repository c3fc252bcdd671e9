"""What was typed into a form stays with this terminal, and is offered back: "calculator/charge",
"form/Hand over J-1047" are the places it is kept at."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop

_MARK = "\t"


def keep(place: str, typed: Mapping[str, str]) -> "Callable[[Shop], None]":
    """The deed that keeps a form's texts; nothing typed drops them."""
    lines = [f"{field}{_MARK}{line}" for field, text in typed.items() for line in text.split("\n")]

    def work(shop: "Shop") -> None:
        from shopdesk.desk import drafts

        drafts.keep(shop, place, "\n".join(lines))

    return work


def kept(place: str) -> "Callable[[Shop], dict[str, str]]":
    """The read that gives them back, by field; empty where there are none."""

    def work(shop: "Shop") -> dict[str, str]:
        from shopdesk.desk import drafts

        found: dict[str, list[str]] = {}
        for line in drafts.kept(shop, place).splitlines():
            field, mark, text = line.partition(_MARK)
            if mark:
                found.setdefault(field, []).append(text)
        return {field: "\n".join(texts) for field, texts in found.items()}

    return work
