"""``shopdesk paper``: tags and certificates as PDF or as text."""

import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import click

from shopdesk.cli.shell import say
from shopdesk.errors import BadInput, RecordFault

Command = TypeVar("Command", bound=Callable[..., Any])

_STDOUT = "-"


@click.group()
def paper() -> None:
    """Print a job's papers: PDF, or text with --text."""


def _taking_a_job(command: Command) -> Command:
    for decorate in reversed(
        (
            click.argument("job"),
            click.option("--database", help="The record; without it the one in the settings."),
            click.option("--letter", is_flag=True, help="Letter paper instead of A4."),
            click.option("--text", "as_text", is_flag=True, help="Text for a terminal."),
            click.option("--out", metavar="FILE", help="Where to put it; - is standard output."),
        )
    ):
        command = decorate(command)
    return command


@paper.command()
@_taking_a_job
@click.option("--both", is_flag=True, help="The pressure-state tag on the same sheet.")
def tag(
    job: str, database: str | None, letter: bool, as_text: bool, out: str | None, both: bool
) -> None:
    """The unit tag of JOB (J-1047): its number, its code, whose it is."""
    from shopdesk.paper import tags

    view = _sheet(database, job)
    name = f"{_tag(job)}-tag"
    if as_text:
        pressure = "\n" + tags.pressure_text(view) if both else ""
        _put_text(tags.unit_text(view.heading) + pressure, out)
    elif both:
        _put(tags.both(view, letter=letter), out, name)
    else:
        _put(tags.unit_tag(view.heading, letter=letter), out, name)


@paper.command("pressure-tag")
@_taking_a_job
def pressure_tag(
    job: str, database: str | None, letter: bool, as_text: bool, out: str | None
) -> None:
    """The pressure-state tag of JOB as its record stands now."""
    from shopdesk.paper import tags

    view = _sheet(database, job)
    if as_text:
        _put_text(tags.pressure_text(view), out)
    else:
        _put(tags.pressure_tag(view, letter=letter), out, f"{_tag(job)}-pressure")


@paper.command()
@_taking_a_job
@click.option(
    "--issue",
    type=click.Choice(["release", "shipment"]),
    help="Which issue; without it the last there is.",
)
def certificate(
    job: str,
    database: str | None,
    letter: bool,
    as_text: bool,
    out: str | None,
    issue: str | None,
) -> None:
    """The certificate of JOB, the same however often it is printed."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.paper import certificate as papers
    from shopdesk.views import certificates

    number = number_of(job)
    with _reading(database) as db:
        facts = certificates.certificate(db, number, utc_now(), issue)
    if as_text:
        _put_text(papers.text(facts), out)
    else:
        _put(papers.pdf(facts, letter=letter), out, f"{facts.tag}-certificate-{facts.issue}")


def matched(db: Any, job: str, printed: str) -> str:
    """Says which issue of the job's certificate carries the printed code. Raises RecordFault where
    none does, NotFound or Refused where none was issued."""
    from shopdesk.desk.shop import utc_now
    from shopdesk.paper import certificate as papers
    from shopdesk.views import certificates

    facts = certificates.certificate(db, number_of(job), utc_now())
    if facts.issue != "release" and not papers.matches(facts, printed):
        facts = certificates.certificate(db, number_of(job), utc_now(), "release")
    if papers.matches(facts, printed):
        return f"{facts.tag}: the code is that of its {facts.issue} certificate as recorded"
    raise RecordFault(
        f"{facts.tag}: no certificate the record gives has the code {printed.strip()[:20]!r}; the "
        "paper is not this job's, or the record was changed since."
    )


def _sheet(database: str | None, job: str) -> Any:
    from shopdesk.desk.shop import utc_now
    from shopdesk.views import sheets

    number = number_of(job)
    with _reading(database) as db:
        return sheets.load(db, number, utc_now())


@contextmanager
def _reading(database: str | None) -> Iterator[Any]:
    from shopdesk import settings
    from shopdesk.records.engine import open_record

    record = open_record(settings.database_url(database))
    try:
        with record.read() as db:
            yield db
    finally:
        record.close()


def number_of(job: str) -> int:
    found = re.fullmatch(r"(?:[Jj]-?)?([0-9]{1,9})", job.strip())
    if found is None:
        raise BadInput(f"read {job[:40]!r}; a job is named by its tag: J-1047")
    return int(found[1])


def _tag(job: str) -> str:
    return f"J-{number_of(job)}"


def _put(document: bytes, out: str | None, name: str) -> None:
    """To the file named, or to one named after the paper in this folder."""
    if out == _STDOUT:
        sys.stdout.buffer.write(document)
        return
    path = Path(out) if out else Path(f"{name}.pdf")
    _write(path, document)


def _put_text(text: str, out: str | None) -> None:
    if out and out != _STDOUT:
        _write(Path(out), text.encode("utf-8", "backslashreplace"))
        return
    encoding = sys.stdout.encoding or "utf-8"
    click.echo(text.encode(encoding, "backslashreplace").decode(encoding), nl=False)


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise BadInput(
            f"The paper cannot be written to {path}: {error.strerror}; "
            "name another file with --out."
        ) from error
    say(f"the paper is in {path}")
