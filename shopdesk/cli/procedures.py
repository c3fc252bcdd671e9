"""``shopdesk procedure``: check a procedure document, print it, describe its format."""

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli import revisions
from shopdesk.cli.shell import end
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.procedure import Limit, Line, Procedure

_FAULTY = 2
_WIDTH = 100


@click.group()
def procedure() -> None:
    """Look after the documents that say what a unit model demands."""


@procedure.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
def check(files: tuple[Path, ...]) -> None:
    """Check documents: every fault and every doubt a line, with its place."""
    from shopdesk.procedure import check as checked

    faulty = 0
    for path in files:
        report = checked(path)
        for warning in report.warnings:
            click.echo(f"warning: {warning}")
        for problem in report.problems:
            click.echo(problem)
        if report.procedure is None:
            faulty += 1
        else:
            click.echo(f"{path.name}: sound. {_summary(report.procedure)}")
    if faulty:
        end(_FAULTY, f"{faulty} of {len(files)} documents cannot be used; nothing was changed.")


@procedure.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--answers",
    type=click.Path(path_type=Path),
    help="A file of lines `label = answer`; what it does not name takes the usual answer.",
)
def new(file: Path, answers: Path | None) -> None:
    """Start a document from questions: FILE, such as TP-016.toml.

    What is usual on every unit (venting with a second person's signature, the order of a charge,
    the hold, ports for the road) is written around your figures. Broken off, the same command goes
    on where you stopped.
    """
    from datetime import date

    from shopdesk.cli.asking import procedure as questions
    from shopdesk.cli.asking import session
    from shopdesk.cli.asking.answers import write_whole

    if file.exists():
        raise BadInput(f"{file} is there already; name another, or edit that one")
    model = file.stem.upper()
    with session.asking(file.with_name(f"{file.name}.answers"), answers) as ask:
        plan = ask.through(lambda ask: questions.plan(ask, date.today(), model=model))
        text = session.checked(plan, file.name)
        write_whole(file, text)
    click.echo(f"\n{file} is written. Read it through and edit it, then")
    click.echo(f"  shopdesk procedure check {file}\n  shopdesk procedure import {file}")


@procedure.command("format")
def format_() -> None:
    """Describe the format, every kind of line with every field."""
    from shopdesk.procedure import reference_text

    click.echo(reference_text())


@procedure.command()
@click.argument("file", type=click.Path(path_type=Path))
def show(file: Path) -> None:
    """Print the sheet a document lays out, in the order the lines are done."""
    from shopdesk.procedure import load
    from shopdesk.rules.generated import laid_out

    found = load(file)
    click.echo(f"{found.model}  {found.name}  revision {found.revision}")
    section = ""
    for number, line in enumerate(laid_out(found), 1):
        if line.section != section:
            section = line.section
            click.echo(f"\n{section.upper()}")
        click.echo(_shown(number, line))


for command in revisions.COMMANDS:
    procedure.add_command(command)


def _summary(found: "Procedure") -> str:
    from shopdesk.rules.generated import laid_out

    lines = len(laid_out(found))
    return f"{found.model}, revision {found.revision}, {lines} lines in {len(found.order)} sections"


def _shown(number: int, line: "Line") -> str:
    asks = ", ".join(part for part in (_kind(line), line.position, _asks(line)) if part)
    rows = [f"{line.text}  [{asks}]"]
    if line.when:
        from shopdesk.procedure.comparing import condition_said

        rows.append("only when " + " and ".join(condition_said(each) for each in line.when))
    if line.caution:
        rows.append(f"CAUTION {line.caution}")
    leads = [f"{number:4}  ", *[" " * 8] * (len(rows) - 1)]
    return "\n".join(
        textwrap.fill(row, _WIDTH, initial_indent=lead, subsequent_indent=" " * max(6, len(lead)))
        for row, lead in zip(rows, leads, strict=True)
    )


def _kind(line: "Line") -> str:
    return type(line).__name__.lower()


def _asks(line: "Line") -> str:
    """What the line is judged by, or may be answered with."""
    from shopdesk.procedure import types as doc

    match line:
        case doc.Torque(snug=True):
            return "snug"
        case doc.Torque(target=doc.Quantity() as target, tolerance=doc.Span() as tolerance):
            joints = f", {line.count} joints" if line.count > 1 else ""
            return f"{target.typed} ± {tolerance.typed}{joints}"
        case doc.Restore():
            return f"as {line.reference} ± {line.tolerance.typed}"
        case doc.Survey():
            return f"{len(line.depths)} x {len(line.axes)}, {_limit(line.limit)}"
        case doc.Repeat():
            return f"{line.count} times" + (f", {_limit(line.limit)}" if line.limit else "")
        case doc.Reading(limit=doc.Limit() as limit):
            return _limit(limit)
        case doc.Reading():
            return line.unit
        case doc.Choice():
            return " / ".join(line.options)
        case doc.Finding():
            return "good / " + " / ".join(line.defects)
        case doc.Wait():
            return line.duration.typed
        case doc.Port():
            return f"{line.port} {line.leave}"
        case doc.Vent():
            return f"{line.side} side"
    return ""


def _limit(limit: "Limit") -> str:
    low = f"from {limit.low.typed}" if limit.low else ""
    high = f"to {limit.high.typed}" if limit.high else ""
    return " ".join(part for part in (low, high, f"({limit.source})") if part)
