"""``shopdesk procedure``: revisions on record brought in, approved, listed, compared, exported."""

import dataclasses
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli.shell import end, put, say
from shopdesk.cli.signing import MANAGER, typed_sign
from shopdesk.cli.stores.printing import database_option, listing, opened

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shopdesk.procedure.comparing import Compared
    from shopdesk.views.procedures import Looked

_FAULTY = 2
_sign = click.option("--sign", help='Initials and PIN, "OB 7314"; asked for without it.')


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--why", help="What changed and why; asked for without it.")
@_sign
@click.option("--approve", is_flag=True, help="In force at once; takes a manager's signature.")
@database_option
def import_(
    file: Path, why: str | None, sign: str | None, approve: bool, database: str | None
) -> None:
    """Bring in FILE, a new model's procedure or a new revision of one on record.

    It is checked as `procedure check` does and compared with what is in force. It waits until a
    manager approves it: in the office (F5, then O), or with `procedure approve`.
    """
    from shopdesk.desk import procedures
    from shopdesk.procedure import loading

    text = loading.read_text(file)
    report = loading.check_text(text, name=file.name)
    for line in (*(f"warning: {each}" for each in report.warnings), *report.problems):
        click.echo(line)
    if report.procedure is None:
        end(_FAULTY, f"{file.name} cannot be brought in; nothing was changed.")
    with opened(database) as shop:
        found = procedures.look(shop, text, name=file.name)
        _tell(found)
        if found.stands == "same":
            return
        said = procedures.said_why(found, _why(found, why))
        typed = typed_sign(sign, MANAGER)
        done = procedures.bring_in(shop, typed, text, said, name=file.name, approve=approve)
    waits = f"waits: `shopdesk procedure approve {found.doc.model} {found.doc.revision}`"
    say(f"{done.name} {waits if done.waits else 'is in force for new jobs'}")


def _tell(found: "Looked") -> None:
    from shopdesk.desk import procedures

    say(procedures.what_changes(found))
    _print([each for each in found.changes if each.differs])
    for sentence in procedures.said(found.dropped):
        say(sentence)


def _why(found: "Looked", why: str | None) -> str:
    if why is not None or not sys.stdin.isatty():
        return why or ""
    offered = " ".join(found.doc.changed.split()) if found.written else None
    return str(click.prompt("What changed and why", default=offered, err=True))


@click.command()
@click.argument("model")
@click.argument("revision")
@_sign
@database_option
def approve(model: str, revision: str, sign: str | None, database: str | None) -> None:
    """Put a revision that waits in force, with a manager's initials and PIN."""
    from shopdesk.desk import procedures

    with opened(database) as shop:
        say(procedures.approve(shop, typed_sign(sign, MANAGER), model, revision))


@click.command("turn-down")
@click.argument("model")
@click.argument("revision")
@click.option("--why", required=True, help="The reason; it stays on record.")
@_sign
@database_option
def turn_down(model: str, revision: str, why: str, sign: str | None, database: str | None) -> None:
    """Refuse a revision that waits, with a manager's initials and PIN."""
    from shopdesk.desk import procedures

    with opened(database) as shop:
        say(procedures.turn_down(shop, typed_sign(sign, MANAGER), model, revision, why))


@click.command("list")
@click.argument("text", default="")
@listing
def list_(text: str, shape: str | None, database: str | None) -> None:
    """Every revision: who brought it in, when, why, how it stands, how many jobs run on it.

    TEXT narrows it: a model, initials, "in force", "awaits approval", "turned down".
    """
    from shopdesk.cli.stores.printing import show
    from shopdesk.views import procedures

    with opened(database) as shop, shop.read() as db:
        rows = procedures.revisions_of(db, text)
    show(rows, shape, none="no procedure is on record")


@click.command()
@click.argument("model")
@click.option("--revision", default="", help="Without it the one in force.")
@click.option("-o", "--out", metavar="FILE", default="-", help="Where to put it, as it was.")
@database_option
def export(model: str, revision: str, out: str, database: str | None) -> None:
    """Write a revision as it was brought in; importing that again changes nothing."""
    from shopdesk.views import procedures

    with opened(database) as shop, shop.read() as db:
        revision_id, doc = procedures.find(db, model, revision)
        content = procedures.text_of(db, revision_id).encode()
    put(content, out, f"{doc.model} rev {doc.revision}")


@click.command()
@click.argument("model")
@click.argument("a")
@click.argument("b")
@click.option("--all", "everything", is_flag=True, help="Also what both have alike.")
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@database_option
def compare(
    model: str, a: str, b: str, everything: bool, as_json: bool, database: str | None
) -> None:
    """What revision B of MODEL changed against A, line by line, with both values."""
    from shopdesk.procedure.comparing import Mark, counts, summary
    from shopdesk.procedure.comparing import compare as compared
    from shopdesk.views import procedures

    with opened(database) as shop, shop.read() as db:
        was, now = procedures.find(db, model, a)[1], procedures.find(db, model, b)[1]
    found = compared(was, now)
    shown = [each for each in found if everything or each.mark is not Mark.SAME]
    if as_json:
        number = {mark.value: count for mark, count in counts(found).items()}
        head = {"model": now.model, "from": was.revision, "to": now.revision, "counts": number}
        lines = [dataclasses.asdict(each) for each in shown]
        click.echo(json.dumps({**head, "lines": lines}, ensure_ascii=False, indent=1))
        return
    click.echo(f"{now.model} rev {was.revision} to rev {now.revision}: {summary(found)}")
    _print(shown)


def _print(found: "Sequence[Compared]") -> None:
    for each in found:
        key = "" if each.part == "head" else f"{each.key}: "
        click.echo(f"{each.mark:<8} {key}{each.text}")
        for one in each.differs:
            click.echo(f"{'':9}{one.field}: {_both(one.was, one.now, each.mark)}")


def _both(was: str, now: str, mark: str) -> str:
    """Both values; of a line that is in one revision only, its own."""
    return f"{was or 'none'}; now {now or 'none'}" if mark == "changed" else was or now


COMMANDS = (import_, approve, turn_down, list_, export, compare)
