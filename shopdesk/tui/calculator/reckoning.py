"""One reckoning of a form, off the interface's thread: the outcome, or what is missing or wrong."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from shopdesk.desk.calculator import CALCULATIONS, Incomplete, Kind, Outcome
from shopdesk.desk.calculator.readers import entry
from shopdesk.errors import BadInput, ShopError
from shopdesk.quantities import STANDARD_ATMOSPHERE_PA

Place = tuple[str, int]
LARGEST_BYTES = 4_000_000


@dataclass(frozen=True)
class Reckoned:
    """``refused`` by the line it stands in; ``missing`` and ``fault`` in words, "" for none."""

    outcome: Outcome | None = None
    missing: str = ""
    fault: str = ""
    refused: Mapping[Place, str] = field(default_factory=dict)


def reckon(name: str, lines: Mapping[Place, str]) -> Reckoned:
    """What the texts in a form's lines give. Never raises for what was typed."""
    calculation = CALCULATIONS[name]
    refused = _refused(name, lines)
    typed = texts({place: text for place, text in lines.items() if place not in refused})
    empty = [each.name for each in calculation.inputs if each.required and each.name not in typed]
    bad = {field for field, _ in refused}
    missing = "; ".join(
        f"{each.name.replace('-', ' ')} ({each.help.rstrip('.')})"
        for each in calculation.inputs
        if each.name in empty and each.name not in bad
    )
    if refused or empty:
        return Reckoned(missing=missing, refused=refused)
    try:
        return Reckoned(outcome=calculation.run(with_files(name, typed)))
    except Incomplete as fault:
        return Reckoned(missing=str(fault).removeprefix(f"{name} still needs ").rstrip("."))
    except ShopError as fault:
        return Reckoned(fault=str(fault))


def texts(lines: Mapping[Place, str]) -> dict[str, str]:
    """Lines joined to the text of each field."""
    found: dict[str, list[str]] = {}
    for (name, _), text in sorted(lines.items(), key=lambda each: each[0]):
        found.setdefault(name, []).append(text)
    return {name: "\n".join(each) for name, each in found.items()}


def _refused(name: str, lines: Mapping[Place, str]) -> dict[Place, str]:
    found = {}
    for place, text in lines.items():
        asked = CALCULATIONS[name].field(place[0])
        if asked.kind is Kind.TABLE:
            continue  # a table is read as a whole
        try:
            for each in text.split(";") if asked.repeated else (text,):
                if each.strip():
                    entry(asked, each, STANDARD_ATMOSPHERE_PA)
        except ShopError as fault:
            found[place] = str(fault)
    return found


def with_files(name: str, typed: Mapping[str, str]) -> dict[str, str]:
    """A table's one line that names a file gives way to what the file holds. Raises BadInput."""
    return {
        field: _file(text) if CALCULATIONS[name].field(field).kind is Kind.TABLE else text
        for field, text in typed.items()
    }


def _file(text: str) -> str:
    if "\n" in text or not text.lower().endswith(".csv"):
        return text
    try:
        with Path(text).expanduser().open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
        if len(content) > LARGEST_BYTES:
            raise BadInput(f"{text} is larger than {LARGEST_BYTES // 10**6} MB; no survey is.")
        return content.decode("utf-8-sig")
    except (OSError, RuntimeError) as fault:
        why = getattr(fault, "strerror", None) or str(fault)
        raise BadInput(f"{text} cannot be read: {why}.") from None
    except UnicodeDecodeError:
        raise BadInput(f"{text} is not UTF-8 text; save it as CSV in UTF-8 again.") from None
