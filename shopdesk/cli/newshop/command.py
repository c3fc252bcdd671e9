"""The command itself: what is there, what comes next, how the first core is taken in."""

from contextlib import closing
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli.options import counted
from shopdesk.errors import RecordFault, Refused

if TYPE_CHECKING:
    from shopdesk.cli.asking.asker import Asker
    from shopdesk.cli.newshop.setting_up import SettingUp
    from shopdesk.rules.beginning import Choices
    from shopdesk.views.beginning import Beginning

RECORD, ANSWERS = "shop.db", "answers-so-far.txt"


@click.command("new-shop")
@click.argument("folder", default=".", type=click.Path(path_type=Path))
@click.option(
    "--db",
    "database",
    metavar="DATABASE",
    help=f"The record, a file or postgresql://…; without it {RECORD} in FOLDER.",
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path),
    help="A file of lines `label = answer`; what it does not name takes the usual answer.",
)
def new_shop(folder: Path, database: str | None, answers: Path | None) -> None:
    """Set up a shop of your own in FOLDER (here, if not named): from nothing to a first job.

    Asks for the rules you have to choose, the first manager, one procedure, parts, customers and
    tools, each with an example and the usual answer. Every step is in the record when the next
    begins; broken off, the same command goes on.
    """
    from shopdesk import settings
    from shopdesk.cli.asking import session
    from shopdesk.cli.newshop.setting_up import SettingUp
    from shopdesk.desk.shop import Shop
    from shopdesk.records.engine import open_record

    url = settings.database_url(str(folder / RECORD) if database is None else database)
    _room(folder)
    with session.asking(folder / ANSWERS, answers) as ask:
        chosen = _made(ask, url)
        with closing(open_record(url)) as record:
            shop = Shop(record, terminal=settings.terminal_name())
            up = SettingUp(ask, shop, folder, date.today())
            _steps(up, chosen)
            _farewell(up, database or str(folder / RECORD))


def _room(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise RecordFault(f"{folder} cannot be a folder for it: {fault.strerror}") from fault


def _made(ask: "Asker", url: str) -> "Choices | None":
    """Where there is no record, asks for the shop's rules and makes one; until then nothing is
    there but the answers."""
    from shopdesk.cli.newshop import rules
    from shopdesk.records import migrate

    if migrate.current(url) is not None:
        return None
    chosen = ask.through(rules.choices, whole=False)
    click.echo("\n  making the record …")
    migrate.create(url)
    return chosen


def _steps(up: "SettingUp", chosen: "Choices | None") -> None:
    """Each step that is not in the record yet, in an order in which each finds what it needs."""
    from shopdesk.cli.newshop import goods, people, procedures, rules, tools

    there = up.so_far()
    if there.jobs:
        raise Refused(
            f"there are {there.jobs} jobs in this record: the shop is at work already and was left "
            "as it is. People (W), instruments (I) and the rest are kept in the app; another shop "
            "takes another folder"
        )
    resumed = _told(there)
    if there.people:
        up.sign()
    if not {"shop", "roads"} <= there.documents:
        rules.adopt(up, chosen or up.ask.through(rules.choices, whole=False))
    if not there.people:
        people.add(up)
    if not there.procedures:
        procedures.adopt(up, strict=not resumed)
    if not there.parts:
        goods.from_files(up, goods.STORES)
    goods.kit(up)
    if not there.customers:
        goods.from_files(up, ("customers",))
        if not up.so_far().customers:
            goods.customers(up)
    if not there.house:
        goods.house(up)
    tools.add(up)
    if not resumed:
        up.told += [f"a question that {label!r} would have answered" for label in up.ask.unasked()]


def _told(there: "Beginning") -> bool:
    """Says what an earlier session left in the record; whether it left anything."""
    found = [
        *(["its rules"] if "shop" in there.documents else []),
        *(["people: " + ", ".join(code for code, _ in there.people)] if there.people else []),
        *([counted(there.procedures, "procedure")] if there.procedures else []),
        *([counted(len(there.parts), "part")] if there.parts else []),
        *([counted(there.customers, "customer")] if there.customers else []),
        *(["instruments: " + ", ".join(sorted(there.instruments))] if there.instruments else []),
    ]
    if found:
        from shopdesk.cli.asking.asker import say

        say(f"In the record already: {'; '.join(found)}. Going on with what is missing.")
    return bool(found)


def _missing(up: "SettingUp", there: "Beginning") -> list[str]:
    """What the first job will want and the record does not hold."""
    from shopdesk.cli.newshop import tools

    docs = up.procedures()
    kinds = [kind for kind in tools.kinds(docs) if kind != tools.BOTTLE]
    lacking = [kind for kind in kinds if kind not in there.instruments]
    charged = any(doc.charge for doc in docs)
    parts = sorted({line.part for doc in docs for line in doc.kit} - there.stocked)
    second = len(there.people) < 2 and any(doc.gas_charged for doc in docs)
    return [
        *(["a procedure: this command again asks for one"] if not docs else []),
        *(["a second person, who signs that a unit is vented (office, W)"] if second else []),
        *([f"{', '.join(lacking)}: their lines wait for one (office, I)"] if lacking else []),
        *(["a nitrogen bottle for the charge"] if charged and not there.bottles else []),
        *([f"pieces on the shelf of {', '.join(parts)} (stores, F9)"] if parts else []),
        *(["a customer: this command again asks for one"] if not there.customers else []),
    ]


def _farewell(up: "SettingUp", database: str) -> None:
    from shopdesk.cli.asking.asker import say

    there = up.so_far()
    up.ask.head(f"{up.rules().name} is ready for its first job")
    up.ask.say_ahead()
    if missing := [*_missing(up, there), *up.told]:
        click.echo("Still missing:")
        for each in missing:
            say(f"- {each}")
    if not there.procedures:
        return
    click.echo(
        "\n".join(
            [
                "Open it:",
                f"    shopdesk open {database}",
                f"Then F6 and {up.who or 'your initials'} with the PIN, F2 for the counter, N to "
                "take in a core:",
                "serial, model, customer, what they say of it. F1 explains every screen.",
                f"The shop's rules are in {up.folder / 'shop.toml'}, what units demand in "
                f"{up.folder / 'procedures'}.",
            ]
        )
    )
