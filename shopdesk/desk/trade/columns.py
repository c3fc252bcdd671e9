"""What may stand in a file of each kind, and which of its columns it stands in."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from shopdesk.calc import shelf
from shopdesk.desk.shop import Deed, Shop
from shopdesk.errors import BadInput
from shopdesk.records.tables import ColumnMap, canonical
from shopdesk.rules import prices
from shopdesk.rules.shop import cents


@dataclass(frozen=True, slots=True)
class Wanted:
    """One of our columns: how its text is read, and what others head it with."""

    name: str
    read: Callable[[str], Any]
    needed: bool = False
    also: tuple[str, ...] = ()


def _text(most: int) -> Callable[[str], str]:
    def read(text: str) -> str:
        if len(text) > most:
            raise BadInput(f"{len(text)} signs, at most {most}")
        if not text.isprintable():
            raise BadInput("a sign that cannot be printed")
        return text

    return read


def _code(most: int) -> Callable[[str], str]:
    read = _text(most)
    return lambda text: read(text).upper()


def _whole(least: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit()) or not least <= int(text) <= prices.MOST_PIECES:
            raise BadInput(f"expected a whole number from {least} to {prices.MOST_PIECES}")
        return int(text)

    return read


def _flag(text: str) -> bool:
    known = {"yes": True, "y": True, "true": True, "1": True}
    known |= {"no": False, "n": False, "false": False, "0": False, "": False}
    if text.casefold() not in known:
        raise BadInput("expected yes or no")
    return known[text.casefold()]


def _cured(text: str) -> str:
    return str(shelf.cure_quarter(text)) if text else ""


KINDS: Mapping[str, tuple[Wanted, ...]] = {
    "parts": (
        Wanted("number", _code(60), True, ("part", "part number", "part no", "item", "item no")),
        Wanted("description", _text(200), True, ("name", "text", "designation")),
        Wanted("unit_cost", cents, True, ("cost", "price", "unit price")),
        Wanted("dash", _text(10), also=("dash size", "size")),
        Wanted("compound", _code(20), also=("material",)),
        Wanted("thread", _text(30)),
        Wanted("grade", _text(30)),
        Wanted("pack", _whole(1), also=("pack size",)),
        Wanted("minimum", _whole(0), also=("min", "least", "minimum stock")),
        Wanted("bin", _text(30), also=("location", "shelf")),
        Wanted("critical", _flag),
    ),
    "suppliers": (
        Wanted("code", _code(20), True, ("supplier", "supplier code")),
        Wanted("name", _text(200), True, ("supplier name", "company")),
        Wanted("lead_days", _whole(0), True, ("lead time", "days", "lead time days")),
        Wanted("email", _text(120), also=("e-mail", "mail")),
        Wanted("minimum_order", cents, also=("minimum order value",)),
    ),
    "prices": (
        Wanted("part", _code(60), True, ("number", "part number", "part no", "item", "item no")),
        Wanted("supplier", _code(20), True, ("supplier code",)),
        Wanted("price", cents, True, ("unit price", "cost", "unit cost")),
        Wanted("least", _whole(1), also=("least pieces", "minimum quantity", "minimum order")),
        Wanted("breaks", prices.breaks, also=("price breaks", "quantity prices")),
    ),
    "lots": (
        Wanted("part", _code(60), True, ("number", "part number", "part no", "item", "item no")),
        Wanted("lot", _code(60), True, ("lot number", "lot no", "batch", "batch number")),
        Wanted("pieces", _whole(1), True, ("quantity", "qty", "on hand")),
        Wanted("cured", _cured, also=("cure date", "cure quarter")),
        Wanted("certificate", _text(60), also=("certificate number", "cert")),
        Wanted("unit_cost", cents, also=("cost", "price", "unit price")),
        Wanted("set", _code(30), also=("matched set", "set number", "set no")),
    ),
    "customers": (
        Wanted("code", _code(20), True, ("customer", "customer code", "customer no", "no")),
        Wanted("name", _text(200), True, ("customer name", "company")),
        Wanted("phone", _text(60), also=("telephone", "tel")),
        Wanted("email", _text(120), also=("e-mail", "mail")),
        Wanted("place", _text(120), also=("town", "city")),
    ),
}


def wanted(kind: str) -> tuple[Wanted, ...]:
    if kind not in KINDS:
        raise BadInput(f"read {kind[:20]!r}; a file holds {', '.join(KINDS)}")
    return KINDS[kind]


def recognised(kind: str, headers: Sequence[str]) -> dict[str, str]:
    """Ours to theirs, where a header is our own name or one that is plainly the same."""
    plain = {_plain(header): header for header in headers if header}
    found: dict[str, str] = {}
    for column in wanted(kind):
        for name in (column.name, *column.also):
            if _plain(name) in plain and plain[_plain(name)] not in found.values():
                found[column.name] = plain[_plain(name)]
                break
    return found


def missing(kind: str, columns: Mapping[str, str]) -> tuple[str, ...]:
    """Columns of ours that a file cannot do without and no column of theirs was named for."""
    return tuple(c.name for c in wanted(kind) if c.needed and c.name not in columns)


def unread(headers: Sequence[str], columns: Mapping[str, str]) -> list[str]:
    """Their columns that none of ours is read from."""
    return [header for header in headers if header and header not in columns.values()]


def checked(kind: str, headers: Sequence[str], told: Mapping[str, str]) -> dict[str, str]:
    """What was told as "ours is their column". Raises BadInput for names that are neither's."""
    ours = {column.name for column in wanted(kind)}
    for name, header in told.items():
        if name not in ours:
            raise BadInput(f"{name[:30]!r} is no column of {kind}: {', '.join(sorted(ours))}")
        if header not in headers:
            raise BadInput(f"the file has no column {header[:40]!r}; it has {_listed(headers)}")
    return dict(told)


def remembered(db: Connection, kind: str, headers: Sequence[str]) -> dict[str, str]:
    """What was answered the last time for a file with these headers; empty if never."""
    found = db.execute(
        select(ColumnMap.columns).where(
            ColumnMap.kind == kind, ColumnMap.headers_sha256 == _sha256(headers)
        )
    ).scalar()
    return dict(found or {})


def remember(
    shop: Shop, who: str, kind: str, headers: Sequence[str], columns: Mapping[str, str]
) -> None:
    """Keeps how such a file is read, in place of what was answered before."""

    def work(deed: Deed) -> None:
        person = deed.worker(who, "order")
        sha256 = _sha256(headers)
        deed.db.execute(
            delete(ColumnMap).where(ColumnMap.kind == kind, ColumnMap.headers_sha256 == sha256)
        )
        deed.db.execute(
            insert(ColumnMap).values(
                kind=kind,
                headers_sha256=sha256,
                columns=dict(columns),
                person_id=person.id,
                at=deed.now,
            )
        )
        deed.event("columns", person, {"kind": kind, "columns": dict(columns)})

    shop.write(work)


def _sha256(headers: Sequence[str]) -> str:
    return hashlib.sha256(canonical(list(headers)).encode()).hexdigest()


def _listed(headers: Sequence[str]) -> str:
    return ", ".join(header for header in headers if header)[:300]


def _plain(header: str) -> str:
    return "".join(sign for sign in header.casefold() if sign.isalnum())
