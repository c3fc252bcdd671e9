"""Finding a unit by any of the ways people write it."""

import re
from difflib import get_close_matches
from functools import lru_cache

from shopdesk.errors import BadQuantity

from .clean import cleaned, quoted
from .dimension import Dimension
from .table import UNITS, Unit

_SEPARATORS = re.compile(r"[\s·*.()-]+")
_MILLIPASCAL = re.compile(r"(?:Δ|[Dd]elta[\s-]*)?m[Pp][Aa]")
_LISTED = 8


def key(spelling: str) -> str:
    """One form for all spellings: lower case, one hyphen for any separator, no powers' carets."""
    plain = spelling.lower().replace("²", "2").replace("³", "3").replace("^", "")
    plain = re.sub(r"\s*(?:/|\bper\b)\s*", "/", plain)
    return _SEPARATORS.sub("-", plain).strip("-")


def _index() -> dict[str, list[Unit]]:
    found: dict[str, list[Unit]] = {}
    for unit in UNITS:
        keys = {key(spelling) for spelling in (unit.name, *unit.spellings)}
        for each in sorted(keys | {one.replace("-", "") for one in keys}):
            found.setdefault(each, []).append(unit)
    return found


_BY_KEY = _index()


def lookup(spelling: str, dimension: Dimension | None = None) -> Unit | None:
    """The unit written so, of ``dimension`` where a spelling has several meanings, or None."""
    candidates = _BY_KEY.get(key(spelling), [])
    for unit in candidates:
        if unit.dimension is dimension:
            return unit
    return candidates[0] if candidates else None


@lru_cache(maxsize=1024)
def resolve(spelling: str, dimension: Dimension | None = None) -> Unit:
    """The unit written so; BadQuantity for an unknown one or a millipascal."""
    written = cleaned(spelling)
    refuse_millipascal(written)
    unit = lookup(written, dimension)
    if unit is None:
        raise BadQuantity(unknown(written, dimension))
    return unit


def refuse_millipascal(written: str) -> None:
    """Case matters in one place: a thousandth of a pascal is never meant, a million is."""
    if _MILLIPASCAL.match(written):
        raise BadQuantity(
            f"{quoted(written)} would be a thousandth of a pascal: write MPa for megapascal."
        )


def unknown(written: str, dimension: Dimension | None) -> str:
    """The sentence for a unit nobody knows: the near match, and what is known."""
    said = f"{quoted(written)} is not a unit known here" if written else "A unit is missing"
    near = _near(written, dimension)
    hint = f"; did you mean {near.name}?" if near else "."
    kind = dimension or (near.dimension if near else None)
    if kind:
        return f"{said}{hint} Known for {kind.words}: {', '.join(names(kind)[:_LISTED])}."
    firsts = dict.fromkeys(names(each)[0] for each in Dimension)
    return f"{said}{hint} Known are for example {', '.join(firsts)}."


def _near(written: str, dimension: Dimension | None) -> Unit | None:
    matches = get_close_matches(key(written), _BY_KEY, n=8, cutoff=0.6)
    units = [unit for match in matches for unit in _BY_KEY[match]]
    fitting = [unit for unit in units if dimension in (None, unit.dimension)]
    swapped = [unit for unit in fitting if sorted(key(unit.name)) == sorted(key(written))]
    return next(iter(swapped or fitting), None)


def names(dimension: Dimension) -> list[str]:
    """The canonical names of a dimension's units, the most used first."""
    return [unit.name for unit in UNITS if unit.dimension is dimension]


def canonical(unit: str) -> str:
    """The short name of a unit as the trade writes it: ``in lbs`` -> ``in-lb``.

    Raises BadQuantity for an unknown unit.
    """
    return resolve(unit).name


def dimension_of(unit: str) -> Dimension:
    """What a unit measures; ``µm`` is a length and ``bar`` a pressure where nothing else is said.

    Raises BadQuantity for an unknown unit, with a near match and what is known.
    """
    return resolve(unit).dimension
