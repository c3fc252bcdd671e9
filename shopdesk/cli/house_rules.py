"""``shopdesk rules``: the shop's own rules and side roads, shown, checked, changed."""

from pathlib import Path

import click

from shopdesk.cli.shell import say
from shopdesk.cli.signing import MANAGER, typed_sign
from shopdesk.cli.stores.printing import database_option, opened

_side_roads = click.option(
    "--side-roads",
    "kind",
    flag_value="roads",
    default=None,
    help="The side roads (declined, scrapped, quarantined) instead of the rules.",
)


@click.group()
def rules() -> None:
    """Look after the shop's own rules, a document of plain text."""


@rules.command()
@_side_roads
@database_option
def show(kind: str | None, database: str | None) -> None:
    """Print the document in force."""
    from shopdesk.views import documents

    with opened(database) as shop, shop.read() as db:
        click.echo(documents.text_in_force(db, kind or "shop"), nl=False)


@rules.command()
@click.argument("file", type=click.Path(path_type=Path))
@_side_roads
def check(file: Path, kind: str | None) -> None:
    """Say whether FILE can be put in force; nothing is changed."""
    from shopdesk.procedure.loading import read_text

    click.echo(f"{file.name}: sound. {_checked(read_text(file), kind or 'shop')}")


@rules.command()
@click.argument("file", type=click.Path(path_type=Path))
@_side_roads
@click.option("--sign", help='A manager\'s initials and PIN, "OB 7314"; asked for without it.')
@database_option
def adopt(file: Path, kind: str | None, sign: str | None, database: str | None) -> None:
    """Put FILE in force, in place of what is. Every change of the rules takes a new revision."""
    from difflib import unified_diff

    from shopdesk.desk import keeping
    from shopdesk.procedure.loading import read_text
    from shopdesk.views import documents

    text = read_text(file)
    said = _checked(text, kind or "shop")
    with opened(database) as shop:
        with shop.read() as db:
            before = documents.text_in_force(db, kind or "shop")
        if before == text:
            say("that is in force already; nothing was changed")
            return
        for line in unified_diff(before.splitlines(), text.splitlines(), "", "", n=0):
            if not line.startswith(("---", "+++", "@@")):
                click.echo(line)
        keeping.adopt_document(shop, typed_sign(sign, MANAGER), kind or "shop", text)
    say(f"in force: {said}")


def _checked(text: str, kind: str) -> str:
    """What the document is. Raises BadInput naming the key at fault."""
    from shopdesk import procedure
    from shopdesk.rules import shop
    from shopdesk.rules.answers import SIDE_ROADS

    if kind == "roads":
        lines = procedure.side_roads(text, name="roads.toml", roads=SIDE_ROADS)
        return f"side roads, {sum(map(len, lines.values()))} lines"
    found = shop.read(text)
    return f"rules of {found.name}, revision {found.revision}"
