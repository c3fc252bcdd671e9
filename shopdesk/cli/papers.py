"""``shopdesk paper``: every paper as PDF or as text, to a file or to the printer."""

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from shopdesk.cli.shell import STDOUT, put, say
from shopdesk.errors import BadInput, RecordFault

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.paper.making import Made

Command = TypeVar("Command", bound=Callable[..., Any])

_JOB_PAPERS = {
    "pressure-tag": "The pressure-state tag of JOB as its record stands now.",
    "job-sheet": "The open lines of JOB, with room to write, for work on paper.",
    "quote": "The latest quote of JOB, as the customer gets it.",
    "pick-list": "What to fetch from the shelf for JOB: bin, lot, use-by.",
    "packing-slip": "What leaves with JOB's unit: bagged parts, port states, what is due.",
}


@click.group()
def paper() -> None:
    """Print the shop's papers: PDF, or text with --text."""


def _printing(command: Command) -> Command:
    for decorate in reversed(
        (
            click.option("--database", help="The record; without it the one in the settings."),
            click.option(
                "--letter/--a4", default=None, help="Paper size; without it the shop's own."
            ),
            click.option("--text", "as_text", is_flag=True, help="Text for a terminal."),
            click.option("--out", metavar="FILE", help="Where to put it; - is standard output."),
            click.option("--print", "send", is_flag=True, help="Send it to the shop's printer."),
        )
    ):
        command = decorate(command)
    return command


@paper.command()
@click.argument("job")
@click.option("--both", is_flag=True, help="The pressure-state tag on the same sheet.")
@_printing
def tag(job: str, both: bool, **how: Any) -> None:
    """The unit tag of JOB (J-1047): its number, its code, whose it is."""
    _of_job("tags" if both else "tag", job, **how)


@paper.command()
@click.argument("job")
@click.option(
    "--issue",
    type=click.Choice(["release", "shipment"]),
    help="Which issue; without it the last there is.",
)
@_printing
def certificate(job: str, issue: str | None, **how: Any) -> None:
    """The certificate of JOB, the same however often it is printed."""
    _of_job("certificate", job, issue=issue, **how)


def _job_command(name: str, help_: str) -> click.Command:
    @click.command(name, help=help_)
    @click.argument("job")
    @_printing
    def command(job: str, **how: Any) -> None:
        _of_job(name, job, **how)

    return command


for _name, _help in _JOB_PAPERS.items():
    paper.add_command(_job_command(_name, _help))


@paper.command()
@_printing
def handover(**how: Any) -> None:
    """Every unit in the house for the next shift: pressure first, what it waits for, whose move."""
    _of_shop("handover", "", **how)


@paper.command()
@click.argument("number")
@_printing
def order(number: str, **how: Any) -> None:
    """The purchase NUMBER as the supplier gets it."""
    _of_shop("order", number, **how)


@paper.command("count-sheet")
@click.argument("bins", default="")
@click.option("--due", is_flag=True, help="Only what is to be counted today, in all bins.")
@_printing
def count_sheet(bins: str, due: bool, **how: Any) -> None:
    """Lots to count in BINS (what their names begin with), without how many there should be."""
    if due and bins:
        raise BadInput(f"read --due and bins {bins[:20]!r}; what is due is asked of all bins")
    _of_shop("count-due" if due else "count-sheet", bins, **how)


def _of_job(name: str, job: str, *, issue: str | None = None, **how: Any) -> None:
    number = number_of(job)

    def make(shop: "Shop") -> "Made":
        from shopdesk.paper import making

        return making.of_job(shop, name, number, issue=issue)

    _deliver(make, **how)


def _of_shop(name: str, about: str, **how: Any) -> None:
    def make(shop: "Shop") -> "Made":
        from shopdesk.paper import making

        return making.of_shop(shop, name, about)

    _deliver(make, **how)


def _deliver(
    make: "Callable[[Shop], Made]",
    *,
    database: str | None,
    letter: bool | None,
    as_text: bool,
    out: str | None,
    send: bool,
) -> None:
    from shopdesk.cli.stores.printing import opened
    from shopdesk.paper import printer
    from shopdesk.views import documents

    with opened(database) as shop:
        made = make(shop)
        with shop.read() as db:
            printing = documents.rules(db).printing
    if as_text:
        _put_text(made.text, out)
        return
    document = made.pdf(printing.letter if letter is None else letter)
    if send:
        path = Path(out) if out and out != STDOUT else None
        if path is not None:
            put(document, path, "the paper")
        say(printer.send(path or printer.keep(document, f"{made.name}.pdf"), printing.command))
        return
    put(document, out or f"{made.name}.pdf", "the paper")


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


def number_of(job: str) -> int:
    found = re.fullmatch(r"(?:[Jj]-?)?([0-9]{1,9})", job.strip())
    if found is None:
        raise BadInput(f"read {job[:40]!r}; a job is named by its tag: J-1047")
    return int(found[1])


def _put_text(text: str, out: str | None) -> None:
    if out and out != STDOUT:
        put(text.encode("utf-8", "backslashreplace"), out, "the paper")
        return
    encoding = sys.stdout.encoding or "utf-8"
    click.echo(text.encode(encoding, "backslashreplace").decode(encoding), nl=False)
