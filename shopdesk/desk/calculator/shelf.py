"""How long a seal may be stored."""

from collections.abc import Sequence
from datetime import date

from shopdesk.calc import shelf
from shopdesk.calc.shelf import Life, UseBy
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind
from shopdesk.desk.calculator.given import Given

_NO_EXTENSION = "no extension"


def _shelf_life(given: Given) -> Found:
    compound, cured = given.words("compound"), given.words("cured")
    if given.has("standard"):
        return _under_one(shelf.use_by(compound, cured, given.words("standard")))
    found = shelf.compare(compound, cured)
    return _under_each(found) if found[0].life.limited else _under_one(found[0])


def _under_one(found: UseBy) -> Found:
    return Found(
        {
            "use_by": values.words(found.as_text),
            "use_by_extended": values.words(_extended(found.use_by, found.use_by_extended)),
        },
        _counted(found),
        _standard(found),
        found.cautions,
    )


def _under_each(found: Sequence[UseBy]) -> Found:
    results = {}
    for each in found:
        name = shelf.short_name(each.life.standard).lower().replace(" ", "_").replace("-", "_")
        results[f"use_by_{name}"] = values.words(each.as_text)
        results[f"use_by_extended_{name}"] = values.words(
            _extended(each.use_by, each.use_by_extended)
        )
    return Found(
        results,
        "; ".join(f"{shelf.short_name(each.life.standard)}: {_counted(each)}" for each in found),
        "; ".join(_standard(each) for each in found),
        tuple(
            dict.fromkeys(
                (
                    "Go by the standard the customer or the drawing names; never mix two on one "
                    "shelf.",
                    *(caution for each in found for caution in each.cautions),
                )
            )
        ),
    )


def _counted(found: UseBy) -> str:
    life = found.life
    years = f"{life.initial_years} years" if life.limited else shelf.NO_LIMIT
    return f"end of {found.cured} ({found.cured.end.isoformat()}) + {years} = {found.as_text}" + (
        f"; once inspected + {life.extension_years} years" if life.extension_years else ""
    )


def _standard(found: UseBy) -> str:
    life = found.life
    if not life.limited and not life.edition:
        return f"no standard limits {life.material}: {life.source} ({life.confidence} confidence)"
    return (
        f"{life.standard}, edition {life.edition}, {_group(life)}{life.source} "
        f"({life.confidence} confidence)"
    )


def _group(life: Life) -> str:
    return f"group {life.group}: " if life.group else ""


def _extended(use_by: date | None, extended: date | None) -> str:
    if use_by is None:
        return shelf.NO_LIMIT
    return _NO_EXTENSION if extended is None else extended.isoformat()


SHELF_LIFE = Calculation(
    "shelf-life",
    "Last day a seal may be stored",
    (
        Field("compound", Kind.WORDS, "NBR, FKM, nitrile.", metavar="COMPOUND"),
        Field("cured", Kind.WORDS, "Cure quarter: 4Q2017.", metavar="QUARTER"),
        Field(
            "standard", Kind.WORDS, f"{', '.join(shelf.STANDARDS)}; without one, each.", False,
            metavar="STANDARD",
        ),
    ),
    _shelf_life,
    {"compound": "NBR", "cured": "2Q2019", "standard": "ISO 2230"},
)  # fmt: skip

CALCULATIONS = (SHELF_LIFE,)
