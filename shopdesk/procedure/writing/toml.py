"""TOML as a person would write it: one key a line, a rule before each chapter."""

from collections.abc import Mapping
from datetime import date

from shopdesk.procedure.groups import slug

Value = str | int | bool | date | tuple[str, ...] | Mapping[str, str]

_WIDTH = 98
_LONGEST_KEY = 40


def table(head: str, **values: Value) -> str:
    """A table under its head, keys in the order given; empty values are left out."""
    return f"{head}\n{pairs(**values)}"


def pairs(**values: Value) -> str:
    said = {key: value for key, value in values.items() if value not in ("", (), {})}
    return "".join(f"{key} = {written(value)}\n" for key, value in said.items())


def line(section: str, key: str, kind: str, text: str, **values: Value) -> str:
    return table(f"[[{section}]]", key=key, kind=kind, text=text, **values)


def written(value: Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return _listed([_quoted(each) for each in value])
    return "{ " + ", ".join(f"{key} = {_quoted(each)}" for key, each in value.items()) + " }"


def _listed(items: list[str]) -> str:
    plain = "[" + ", ".join(items) + "]"
    if len(plain) < _WIDTH - 20:
        return plain
    return "[\n" + "".join(f"    {item},\n" for item in items) + "]"


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else " " for sign in escaped) + '"'


def chapter(title: str, *remarks: str) -> str:
    """A heading between two parts of the document, with what is to be known of it."""
    rule = f"# {title} ".ljust(_WIDTH, "-")
    return "\n".join([rule, *(f"# {remark}" for remark in remarks)]) + "\n"


class Names:
    """Keys made of words, each given once: "Gas cap" is gas_cap, the second gas_cap_2."""

    def __init__(self, *taken: str) -> None:
        self._taken = set(taken)

    def of(self, words: str) -> str:
        plain = slug(words)[:_LONGEST_KEY].strip("_") or "line"
        name, number = plain, 1
        while name in self._taken:
            number += 1
            name = f"{plain}_{number}"
        self._taken.add(name)
        return name
