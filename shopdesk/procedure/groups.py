"""Groups of lines and kit lines laid out over named positions: the same stack in two ports."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from shopdesk.procedure.faults import Place, near
from shopdesk.procedure.reading import key_of, line, record
from shopdesk.procedure.types import KitLine, Line
from shopdesk.procedure.words import words

MARK = "{position}"
GROUP = "group"

_GROUP_KEYS = ("kind", "key", "positions", "lines")
# Fields that hold keys and ids take the position as a slug, all others as it is written.
_KEY_FIELDS = frozenset(
    {"key", "id", "line", "reference", "kit", "start", "set_by_test", "reopen", "again", "inspect"}
    | {"measured_by", "measure_again", "matched"}
)


@dataclass(frozen=True, slots=True)
class Placed:
    """A line and where the document says it; ``line`` is None where it is at fault."""

    key: str
    place: Place
    line: Line | None


@dataclass(frozen=True, slots=True)
class PlacedKit:
    id: str
    place: Place
    kit: KitLine | None


def slug(position: str) -> str:
    """``port A`` as it stands in keys: ``port_a``."""
    return re.sub(r"[^a-z0-9]+", "_", position.lower()).strip("_")


def section_lines(raw: object, section: str, place: Place) -> list[Placed]:
    """The lines of one section in order, groups laid out position by position."""
    found: list[Placed] = []
    for element, at in _tables(raw, place):
        if element.get("kind") == GROUP:
            found.extend(_group(element, section, at))
        else:
            found.extend(_one(element, section, at))
    return found


def kit_lines(raw: object, place: Place) -> list[PlacedKit]:
    found: list[PlacedKit] = []
    for element, at in _tables(raw, place):
        if "positions" in element:
            found.extend(_kit_over_positions(element, at))
        else:
            _refuse_mark(element, at)
            found.extend(_kit(element, at))
    return found


def _tables(raw: object, place: Place) -> Iterator[tuple[dict[str, Any], Place]]:
    if not isinstance(raw, list):
        place.refuse(raw, f"an array of tables, each headed [[{place.path}]]")
        return
    for n, element in enumerate(raw):
        if isinstance(element, dict):
            yield element, place.at(n)
        else:
            place.at(n).refuse(element, "a table")


def _one(raw: dict[str, Any], section: str, at: Place) -> Iterator[Placed]:
    _refuse_mark(raw, at)
    yield _placed(raw, section, at)


def _placed(raw: dict[str, Any], prefix: str, place: Place, position: str | None = None) -> Placed:
    key = key_of(raw, place)
    found = line(raw, f"{prefix}.{key}", place, position)
    return _broken(prefix, place) if key is None else Placed(f"{prefix}.{key}", place, found)


def _broken(prefix: str, place: Place) -> Placed:
    """Stands for a line without a usable key, so that its section is known to be at fault."""
    return Placed(f"{prefix}.?{place.path}", place, None)


def _group(raw: dict[str, Any], section: str, at: Place) -> Iterator[Placed]:
    for key in raw:
        if key not in _GROUP_KEYS:
            hint = near(key, _GROUP_KEYS) or "known are " + ", ".join(_GROUP_KEYS)
            at.at(key).add(f"read the key {key!r}, which a group does not have ({hint})")
    name, positions = key_of(raw, at), _positions(raw, at)
    inside = list(_tables(raw["lines"], at.at("lines"))) if "lines" in raw else []
    if not inside:
        at.at("lines").add("missing; a group holds the lines it repeats, as [[SECTION.lines]]")
    if name is None or not positions or not inside:
        yield _broken(section, at)
        return
    for position in positions:
        yield from _at_position(inside, f"{section}.{name}.{slug(position)}", position)


def _at_position(
    inside: list[tuple[dict[str, Any], Place]], prefix: str, position: str
) -> Iterator[Placed]:
    for element, place in inside:
        if element.get("kind") == GROUP:
            place.at("kind").add("read 'group' inside a group, expected a line; groups do not nest")
            continue
        yield _placed(_filled(element, position), prefix, place, position)


def _positions(raw: dict[str, Any], at: Place) -> list[str]:
    """The positions that can be used; each fault is noted."""
    place = at.at("positions")
    given = raw.get("positions")
    if not isinstance(given, list) or not given:
        place.refuse(given if given is not None else [], "a list of names such as ['port A']")
        return []
    found: dict[str, str] = {}
    for n, each in enumerate(given):
        name = words(each, place.at(n))
        if name is None:
            continue
        if not slug(name):
            place.at(n).refuse(name, "a name with a letter or a digit")
        elif slug(name) in found:
            place.at(n).refuse(name, f"a name that differs from {found[slug(name)]!r}")
        else:
            found[slug(name)] = name
    return list(found.values())


def _kit_over_positions(raw: dict[str, Any], at: Place) -> Iterator[PlacedKit]:
    body = {key: value for key, value in raw.items() if key != "positions"}
    if "position" in body:
        at.at("position").add("give position or positions, not both")
        del body["position"]
    written = body.get("id")
    if isinstance(written, str) and MARK not in written:
        body["id"] = f"{written}_{MARK}"
    for position in _positions(raw, at):
        yield from _kit(_filled(body, position) | {"position": position}, at)


def _kit(raw: dict[str, Any], at: Place) -> Iterator[PlacedKit]:
    name = key_of(raw, at, "id")
    found = record(KitLine, raw, at)
    if name is not None:
        yield PlacedKit(name, at, found)


def _filled(raw: dict[str, Any], position: str) -> dict[str, Any]:
    return {key: _fill(value, position, key in _KEY_FIELDS) for key, value in raw.items()}


def _fill(value: Any, position: str, as_slug: bool) -> Any:
    if isinstance(value, str):
        return value.replace(MARK, slug(position) if as_slug else position)
    if isinstance(value, list):
        return [_fill(each, position, as_slug) for each in value]
    if isinstance(value, dict):
        return _filled(value, position)
    return value


def _refuse_mark(raw: dict[str, Any], at: Place) -> None:
    """``{position}`` outside a group would stay in the text as it is."""
    for key, value in raw.items():
        if _holds_mark(value):
            at.at(key).add(f"read {MARK} outside a group; there is no position to put here")


def _holds_mark(value: Any) -> bool:
    if isinstance(value, str):
        return MARK in value
    if isinstance(value, list):
        return any(_holds_mark(each) for each in value)
    return isinstance(value, dict) and any(_holds_mark(each) for each in value.values())
