"""``shopdesk calc``: the bench's calculations, for people and for scripts."""

import json
import shlex
import sys
import textwrap
from collections.abc import Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.desk.calculator import Calculation, Field, Outcome

_WIDTH = 80
_LARGEST_BYTES = 4_000_000
_EXAMPLE_FILE = "bore.csv"
_ON = " \\"


class Calculations(click.Group):
    """One command for each calculation, made from its fields when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        from shopdesk.desk.calculator import CALCULATIONS

        return list(CALCULATIONS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        from shopdesk.desk.calculator import CALCULATIONS

        found = CALCULATIONS.get(cmd_name)
        return None if found is None else Command(found)


@click.group(cls=Calculations)
def calc() -> None:
    """Do one of the bench's sums.

    Quantities are written with their unit, as people write them: "210 bar", "3 5/16 in", "68F".
    Plain bar and psi are gauge; bara and psia are absolute.
    """


class Command(click.Command):
    """A calculation on the command line: an option for each of its fields."""

    def __init__(self, calculation: "Calculation") -> None:
        self.calculation = calculation
        super().__init__(
            calculation.name,
            params=[*_params(calculation), click.Option(["--json"], is_flag=True, help=_JSON_HELP)],
            callback=self._run,
            help=f"{calculation.title}.",
            short_help=calculation.title,
        )

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """A worked example, computed as it is shown."""
        formatter.write_paragraph()
        formatter.write("Example:\n\n")
        formatter.write(textwrap.indent(example(self.calculation), "  "))

    def _run(self, **given: object) -> None:
        as_json = bool(given.pop("json"))
        values, files = _values(self.calculation, given)
        outcome = _outcome(self.calculation, values, files)
        click.echo(_json(outcome) if as_json else written(outcome))


_JSON_HELP = "One JSON object: inputs, results, source, cautions."


def _params(calculation: "Calculation") -> list[click.Parameter]:
    found: list[click.Parameter] = []
    for field in calculation.inputs:
        if field.positional:
            several = 1 if _is_file(field) else -1
            found.append(
                click.Argument([_key(field)], nargs=several, required=False, metavar=field.metavar)
            )
        if not (field.positional and _is_file(field)):
            found.append(_option(field))
    return found


def _option(field: "Field") -> click.Option:
    note = f" One of {', '.join(field.options)}." if field.options else ""
    note += f" [default: {field.default}]" if field.default else ""
    note += " Required." if field.required and not field.positional else ""
    return click.Option(
        [f"--{field.name}", f"option_{_key(field)}"],
        multiple=field.repeated or field.positional,
        metavar=field.metavar or "TEXT",
        help=f"{field.help}{note}",
    )


def _key(field: "Field") -> str:
    return field.name.replace("-", "_")


def _is_file(field: "Field") -> bool:
    from shopdesk.desk.calculator import Kind

    return field.kind is Kind.TABLE


def _values(
    calculation: "Calculation", given: Mapping[str, object]
) -> tuple[dict[str, str], dict[str, str]]:
    """What was typed for each field; and which of them were read from a file, by its name."""
    values, files = {}, {}
    for field in calculation.inputs:
        typed = [*_texts(given.get(_key(field))), *_texts(given.get(f"option_{_key(field)}"))]
        if not typed:
            continue
        if _is_file(field):
            files[field.name] = typed[0]
            values[field.name] = _text(typed[0])
        else:
            values[field.name] = ("\n" if field.repeated else " ").join(typed)
        if not values[field.name].strip():
            raise BadInput(_empty(field, typed[0]))
    return values, files


def _texts(given: object) -> list[str]:
    if given is None:
        return []
    return [str(each) for each in given] if isinstance(given, tuple) else [str(given)]


def _empty(field: "Field", typed: str) -> str:
    if _is_file(field):
        return f"{typed} is empty; asked for is {field.help}"
    return f"--{field.name} was given without anything in it; leave it out, or fill it in."


def _text(name: str) -> str:
    try:
        with Path(name).open("rb") if name != "-" else sys.stdin.buffer as file:
            content = file.read(_LARGEST_BYTES + 1)
    except OSError as fault:
        raise BadInput(f"{name} cannot be read: {fault.strerror}.") from None
    if len(content) > _LARGEST_BYTES:
        raise BadInput(f"{name} is larger than {_LARGEST_BYTES // 10**6} MB; no survey is.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(f"{name} is not UTF-8 text; save it as CSV in UTF-8 again.") from None


def _outcome(
    calculation: "Calculation", values: Mapping[str, str], files: Mapping[str, str]
) -> "Outcome":
    from shopdesk.desk.calculator import Incomplete, Value

    try:
        found = calculation.run(values)
    except Incomplete as fault:
        asked = f"See `shopdesk calc {calculation.name} --help`."
        raise BadInput(f"{fault} {asked}") from None
    named = {field: Value(name, "", name) for field, name in files.items()}
    return replace(found, inputs={**found.inputs, **named})


def _json(outcome: "Outcome") -> str:
    shown = {
        "inputs": {name: asdict(value) for name, value in outcome.inputs.items()},
        "results": {name: asdict(value) for name, value in outcome.results.items()},
        "source": outcome.source,
        "cautions": list(outcome.cautions),
    }
    encoding = (getattr(sys.stdout, "encoding", None) or "ascii").lower()
    plain = not encoding.startswith("utf")
    return json.dumps(shown, ensure_ascii=plain, allow_nan=False, indent=2)


def written(outcome: "Outcome") -> str:
    """An outcome for people."""
    width = max(len(name) for name in outcome.results) + 2
    lines = [f"{name:{width}}{value.as_text}" for name, value in outcome.results.items()]
    paragraphs = [("Sum", outcome.sum_text), ("Source", outcome.source)]
    paragraphs += [("Caution", caution) for caution in outcome.cautions]
    for title, text in paragraphs:
        lines += textwrap.wrap(
            f"{title}: {text}", _WIDTH - 2, subsequent_indent="  ", break_long_words=False
        )
    return "\n".join(lines)


def example(calculation: "Calculation") -> str:
    """A command line that works, and what it prints."""
    words, before = ["shopdesk", "calc", calculation.name], ""
    for name, text in calculation.example.items():
        field = calculation.field(name)
        if _is_file(field):
            before = f"$ cat {_EXAMPLE_FILE}\n{text}"
            words.append(_EXAMPLE_FILE)
        elif field.positional:
            words += text.split()
        else:
            words += [f"--{name} {shlex.quote(entry)}" for entry in text.split("\n")]
    return f"{before}{_lines(words)}\n{written(calculation.run(calculation.example))}\n"


def _lines(words: list[str]) -> str:
    """The command on lines that a shell takes as they stand: an option stays with its value."""
    first, *rest = words
    lines = [f"$ {first}"]
    for word in rest:
        if len(lines[-1]) + 1 + len(word) + len(_ON) > _WIDTH - 2:
            lines.append(f"    {word}")
        else:
            lines[-1] += f" {word}"
    return f"{_ON}\n".join(lines)
