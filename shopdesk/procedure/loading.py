"""A procedure document read whole: from a file or from text, with all its faults at once."""

import re
import tomllib
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeVar

from shopdesk.errors import BadProcedure
from shopdesk.procedure import amounts, order
from shopdesk.procedure.checking import check_draft, check_lines
from shopdesk.procedure.draft import Draft
from shopdesk.procedure.faults import Faults, Place, near, one_of, shown
from shopdesk.procedure.groups import Placed, kit_lines, section_lines
from shopdesk.procedure.reading import record
from shopdesk.procedure.types import (
    SECTIONS,
    Charge,
    GasCharge,
    Leak,
    Line,
    Procedure,
    Rating,
    Reading,
    Regulator,
    Repeat,
    Restore,
)
from shopdesk.procedure.words import flag, whole, words
from shopdesk.quantities import Dimension

FORMAT = 1
LARGEST_BYTES = 2_000_000
_DAY = 1440

HEAD = ("model", "name", "revision", "changed")
_TABLES = ("rated_pressure", "precharge_limit", "gas_charge", "labour_minutes", "kit")
_TOP = (
    "format",
    *HEAD,
    "effective",
    "gas_charged",
    "order",
    "highest_service_temperature",
    *_TABLES,
)
Found = TypeVar("Found", Rating, GasCharge)
_PLACE = re.compile(r"\s*\(at (line \d+, column \d+)\)|\s*\(at (end of document)\)")


@dataclass(frozen=True, slots=True)
class Report:
    """What a check found: ``procedure`` is there when ``problems`` is empty."""

    problems: tuple[str, ...]
    warnings: tuple[str, ...]
    procedure: Procedure | None


def load(path: Path) -> Procedure:
    """The procedure in a file. Raises BadProcedure listing every fault with its path."""
    return _procedure(path.name, check(path))


def loads(text: str, *, name: str) -> Procedure:
    """The procedure in ``text``; ``name`` stands in the faults. Raises BadProcedure."""
    return _procedure(name, check_text(text, name=name))


def check(path: Path) -> Report:
    """Everything wrong or doubtful in a file; never raises for what the file holds."""
    try:
        return check_text(read_text(path), name=path.name)
    except BadProcedure as fault:
        return Report(fault.problems, (), None)


def check_text(text: str, *, name: str) -> Report:
    """Everything wrong or doubtful in ``text``."""
    try:
        raw = _tables(text, name)
    except BadProcedure as fault:
        return Report(fault.problems, (), None)
    return check_tables(raw, name=name)


def check_tables(raw: dict[str, Any], *, name: str) -> Report:
    """Everything wrong or doubtful in a document whose TOML is already read."""
    faults = Faults(name)
    found = _read(raw, Place(faults))
    return Report(faults.problems, faults.warnings, None if faults.problems else found)


def side_roads(text: str, *, name: str, roads: tuple[str, ...]) -> dict[str, tuple[Line, ...]]:
    """Lines of a shop's side roads: ``[[declined]]``, ``[[scrapped]]``, in the same format.

    ``roads`` are the roads there are; one that is not written has no lines. Raises BadProcedure.
    """
    raw, faults = _tables(text, name), Faults(name)
    place = Place(faults)
    _only_known(raw, roads, place)
    found: dict[str, tuple[Line, ...]] = {}
    for road in roads:
        placed = tuple(section_lines(raw[road], road, place.at(road))) if road in raw else ()
        check_lines(Draft(place, (road,), False, placed))
        found[road] = _in_units(_sound(placed), None)
    if faults.problems:
        raise _refused(name, faults.problems)
    return found


def digest(text: str) -> str:
    """The SHA-256 of the document's text (UTF-8), in hexadecimal: which revision this is."""
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _procedure(name: str, report: Report) -> Procedure:
    if report.procedure is None:
        raise _refused(name, report.problems)
    return report.procedure


def _refused(name: str, problems: tuple[str, ...]) -> BadProcedure:
    if len(problems) == 1:
        return BadProcedure(problems[0], problems)
    return BadProcedure(
        f"{name}: {len(problems)} faults in this document, the first: {problems[0]}", problems
    )


def read_text(path: Path) -> str:
    """The text of a document's file. Raises BadProcedure where it cannot be read."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as fault:
        reason = fault.strerror or "it cannot be opened"
        raise BadProcedure(
            f"{path.name}: cannot be read ({reason}); check name and access"
        ) from fault
    if len(data) > LARGEST_BYTES:
        raise BadProcedure(f"{path.name}: larger than {LARGEST_BYTES} bytes; that is no procedure")
    try:
        return data.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as fault:
        raise BadProcedure(
            f"{path.name}: byte {fault.start + 1} is not UTF-8 text; save the file as UTF-8"
        ) from fault


def _tables(text: str, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        said = str(fault)
        found = _PLACE.search(said)
        where = (found[1] or found[2]) if found else "somewhere"
        sentence = _PLACE.sub("", said)
        raise BadProcedure(f"{name}: {where}: not readable as TOML: {sentence}") from fault
    except (RecursionError, ValueError) as fault:
        raise BadProcedure(
            f"{name}: a number or a nesting no document needs; write it plainly"
        ) from fault


def _read(raw: dict[str, Any], place: Place) -> Procedure | None:
    if not _format(raw, place):
        return None
    _only_known(raw, (*_TOP, *SECTIONS), place)
    head = {name: _required(raw, name, place) for name in HEAD}
    effective = _effective(raw, place)
    labour = _labour(raw.get("labour_minutes"), place.at("labour_minutes"))
    draft = _draft(raw, place)
    check_draft(draft)
    if place.faults.problems:
        return None
    return Procedure(
        model=str(head["model"]),
        name=str(head["name"]),
        revision=str(head["revision"]),
        changed=str(head["changed"]),
        effective=effective,
        gas_charged=draft.gas_charged,
        order=draft.order,
        lines=_in_units(_sound(draft.lines), draft.charge),
        kit=draft.kit_sound,
        rated_pressure=draft.rated_pressure,
        precharge_limit=draft.precharge_limit,
        highest_service_temperature=draft.highest_service_temperature,
        charge=draft.charge,
        labour_minutes=labour,
    )


def _sound(placed: tuple[Placed, ...]) -> tuple[Line, ...]:
    return tuple(each.line for each in placed if each.line is not None)


def _in_units(lines: tuple[Line, ...], charge: GasCharge | None) -> tuple[Line, ...]:
    """Where a line names no unit of its own: the charge in those its target and reference are
    written in, a setting in the one it was measured in."""
    measured = {line.key: line.unit for line in lines if isinstance(line, Reading | Repeat)}
    pressure = charge.target.unit if charge else "bar"
    temperature = charge.reference.unit if charge else "°C"

    def filled(line: Line) -> Line:
        match line:
            case Regulator() | Charge() | Leak():
                return replace(
                    line,
                    unit=line.unit or pressure,
                    at_temperature=line.at_temperature or temperature,
                )
            case Restore() if not line.unit:
                return replace(line, unit=measured[line.reference])
        return line

    return tuple(map(filled, lines))


def _draft(raw: dict[str, Any], place: Place) -> Draft:
    sections = order.read_order(raw.get("order"), place.at("order"))
    done = (*sections, *(each for each in SECTIONS if each not in sections))
    written = [
        placed
        for section in done
        if section in raw
        for placed in section_lines(raw[section], section, place.at(section))
    ]
    return Draft(
        place=place,
        order=sections,
        gas_charged=_gas_charged(raw, place),
        lines=tuple(written),
        kit=tuple(kit_lines(raw["kit"], place.at("kit"))) if "kit" in raw else (),
        rated_pressure=_table(Rating, "rated_pressure", raw, place),
        precharge_limit=_table(Rating, "precharge_limit", raw, place),
        highest_service_temperature=(
            amounts.quantity(
                raw["highest_service_temperature"],
                place.at("highest_service_temperature"),
                Dimension.TEMPERATURE,
            )
            if "highest_service_temperature" in raw
            else None
        ),
        charge=_table(GasCharge, "gas_charge", raw, place),
    )


def _table(cls: type[Found], name: str, raw: dict[str, Any], place: Place) -> Found | None:
    return record(cls, raw[name], place.at(name)) if name in raw else None


def _format(raw: dict[str, Any], place: Place) -> bool:
    written = raw.get("format")
    if type(written) is int and written == FORMAT:
        return True
    if written is None:
        place.at("format").add(f"missing; a procedure begins with format = {FORMAT}")
    else:
        place.at("format").refuse(written, f"{FORMAT}, the format this program reads")
    return False


def _only_known(raw: dict[str, Any], known: tuple[str, ...], place: Place) -> None:
    for key in raw:
        if key not in known:
            hint = near(key, known) or "known are " + ", ".join(known)
            place.at(key).add(f"read the key {shown(key)}, which is not known here ({hint})")


def _required(raw: dict[str, Any], name: str, place: Place) -> str | None:
    if name not in raw:
        place.at(name).add("missing; text is needed here")
        return None
    return words(raw[name], place.at(name))


def _gas_charged(raw: dict[str, Any], place: Place) -> bool:
    """Whether the unit holds gas; taken as charged where the document does not say it rightly."""
    at = place.at("gas_charged")
    if "gas_charged" not in raw:
        at.add("missing; say true or false")
        return True
    return flag(raw["gas_charged"], at) is not False


def _effective(raw: dict[str, Any], place: Place) -> str:
    at, written = place.at("effective"), raw.get("effective")
    if written is None:
        at.add("missing; a date such as 2026-03-01 is needed here")
        return ""
    if type(written) is date:
        return written.isoformat()
    try:
        if isinstance(written, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", written, re.ASCII):
            return date.fromisoformat(written).isoformat()
    except ValueError:
        pass
    at.refuse(written, "a date such as 2026-03-01")
    return ""


def _labour(raw: object, place: Place) -> tuple[tuple[str, int], ...]:
    if raw is None:
        return ()
    if not isinstance(raw, dict):
        place.refuse(raw, "a table of section = minutes")
        return ()
    found: list[tuple[str, int]] = []
    for section, written in raw.items():
        if section not in SECTIONS:
            place.at(section).refuse(section, *one_of(section, SECTIONS))
            continue
        minutes = whole(written, place.at(section))
        if minutes is not None and not 0 <= minutes <= 30 * _DAY:
            place.at(section).refuse(minutes, "minutes from 0 to 43200")
        elif minutes is not None:
            found.append((section, minutes))
    return tuple(found)
