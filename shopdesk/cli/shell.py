"""How the command ends: every fault one sentence on stderr and its exit status.

======  ======================================================================
0       done
1       a broken pipe, or a fault without a status of its own
2       what was typed or given cannot be read
3 to 6  refused by the shop's rules, not found, stale, the database's fault
70      a fault of the program itself
130     stopped by Ctrl-C
======  ======================================================================
"""

import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn

import click

from shopdesk.errors import BadInput, Refused, ShopError

DEBUG = "SHOPDESK_DEBUG"
"""Environment: set, a fault of the program itself shows its traceback."""

INTERNAL, INTERRUPTED = 70, 130
STDOUT = "-"


class Shell(click.Group):
    """The outermost group: what its commands raise becomes a sentence and an exit status."""

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        **extra: Any,
    ) -> Any:
        if not standalone_mode:
            return super().main(args, prog_name, complete_var, False, **extra)
        try:
            found = super().main(args, prog_name, complete_var, False, **extra)
        except ShopError as fault:
            end(fault.exit_status, sentence(fault))
        except click.exceptions.NoArgsIsHelpError as fault:
            click.echo(fault.format_message())
            sys.exit(0)
        except click.ClickException as fault:
            end(fault.exit_code, _usage(fault))
        except click.Abort:
            end(INTERRUPTED)
        except Exception as fault:
            end(INTERNAL, _internal(fault))
        sys.exit(found if isinstance(found, int) else 0)


def sentence(fault: ShopError) -> str:
    """The fault's own sentence, and whose move it is where the shop's rules refused."""
    said = str(fault)
    said = said if said.endswith((".", "?", "!")) else f"{said}."
    if isinstance(fault, Refused) and fault.whose_move:
        return f"{said} Move: {fault.whose_move}."
    return said


def say(line: str) -> None:
    """One line on stderr, under the program's name."""
    click.echo(f"shopdesk: {line}", err=True)


def put(content: bytes, out: str | Path, what: str) -> None:
    """Writes to the file named, "-" for standard output; says where it is then. Raises BadInput
    where that file cannot be written."""
    if str(out) == STDOUT:
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    try:
        Path(out).write_bytes(content)
    except OSError as fault:
        raise BadInput(
            f"{what} cannot be written to {out}: {fault.strerror}; name another file"
        ) from fault
    say(f"{what} is in {out}")


def end(status: int, line: str = "") -> NoReturn:
    if line:
        say(line)
    sys.exit(status)


def leave(status: int) -> NoReturn:
    """Ends at once, when everything is closed: taking the interpreter down costs more than the
    rest of quitting."""
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(status)


def _usage(fault: click.ClickException) -> str:
    said = fault.format_message()
    said = said if said.endswith((".", "?", "!")) else f"{said}."
    context = fault.ctx if isinstance(fault, click.UsageError) else None
    return f"{said} See `{context.command_path} --help`." if context else said


def _internal(fault: Exception) -> str:
    if os.environ.get(DEBUG):
        traceback.print_exception(fault)
    said = " ".join(str(fault).split())
    more = "" if os.environ.get(DEBUG) else f" Set {DEBUG}=1 to see where."
    return f"internal fault: {type(fault).__name__}: {said}.{more}"
