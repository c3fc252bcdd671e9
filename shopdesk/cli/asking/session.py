"""A run of questions from its first line to what is kept of it."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from shopdesk.cli.asking import answers
from shopdesk.cli.asking.asker import HOW, Asker, Ended, Stopped, say
from shopdesk.cli.shell import INTERRUPTED, end
from shopdesk.errors import BadInput, BadProcedure

if TYPE_CHECKING:
    from shopdesk.procedure.writing import Plan


@contextmanager
def asking(keep: Path, file: Path | None) -> Iterator[Asker]:
    """Somebody to ask, or a file of answers. What is typed is kept at ``keep`` until all is done;
    stopped midway, the command ends and says so."""
    given = {} if file is None else answers.read(file)
    terminal = sys.stdin.isatty()
    kept = answers.Kept(keep)
    ask = Asker(given=given, kept=kept, patient=terminal or not given, from_file=file is not None)
    if terminal:
        with suppress(ImportError):
            import readline  # noqa: F401  the line can be edited while it is typed
        say(HOW)
    if ask.resumes:
        say(f"Going on where you stopped, with the answers kept in {keep}.")
    try:
        yield ask
    except Stopped:
        said = f"stopped; your answers are kept in {keep}: the same command goes on from there"
        end(INTERRUPTED, said if ask.resumes else "stopped; the same command goes on from here")
    except Ended as fault:
        raise BadInput(f"{fault}; what was answered is kept in {keep}") from fault
    kept.forget()


def checked(plan: "Plan", name: str) -> str:
    """The document's text, held against the loader. Raises BadProcedure with every fault."""
    from shopdesk.procedure import check_text
    from shopdesk.procedure.writing import text

    written = text(plan)
    report = check_text(written, name=name)
    if report.procedure is None:
        raise BadProcedure("; ".join(report.problems), report.problems)
    return written
