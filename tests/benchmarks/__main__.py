"""The speed of the shop in one table, each figure beside what it is held against.

    python -m tests.benchmarks [--jobs N] [--folder FOLDER] [--postgresql ADDRESS]

Shops are built in FOLDER (a million jobs take ten minutes and 8 GB) unless they are there. With
an address, databases shopdesk_1000 and shopdesk_N are used on that server too. Exit status 1 when
a goal is missed.
"""

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from urllib.parse import urlsplit

import psycopg

from shopdesk.records import migrate
from tests.benchmarks import big_shop, big_stores
from tests.benchmarks.asked import asked
from tests.benchmarks.commits import commits
from tests.benchmarks.felt import felt
from tests.benchmarks.office import office
from tests.benchmarks.stored import stored
from tests.benchmarks.table import HEAD, Figure, line

FEW = 1000


def main(arguments: Sequence[str] | None = None) -> int:
    wanted = argparse.ArgumentParser(description="The speed of the shop in one table.")
    wanted.add_argument("--jobs", type=int, default=1_000_000)
    wanted.add_argument("--folder", type=Path, default=Path.home() / ".cache" / "shopdesk-shops")
    wanted.add_argument("--postgresql", metavar="ADDRESS")
    given = wanted.parse_args(arguments)
    given.folder.mkdir(parents=True, exist_ok=True)
    print(HEAD, flush=True)  # noqa: T201
    met = [_told(figure) for figure in _figures(given.folder, given.jobs, given.postgresql)]
    return 0 if all(met) else 1


def _told(figure: Figure) -> bool:
    """Each line is written as soon as it is known."""
    print(line(figure), flush=True)  # noqa: T201
    return figure.met


def _figures(folder: Path, jobs: int, server: str | None) -> Iterator[Figure]:
    few, many = (_file(folder, number) for number in (FEW, jobs))
    yield from felt(many, f"SQLite, {jobs} jobs")
    yield from asked(few, many, f"SQLite, {jobs} jobs")
    yield from office(many, f"SQLite, {jobs} jobs")
    yield from stored(_stores(folder), "SQLite, 50,000 parts")
    if server is not None:
        few, many = (_database(server, number) for number in (FEW, jobs))
        yield from felt(many, f"PostgreSQL, {jobs} jobs")
        yield from asked(few, many, f"PostgreSQL, {jobs} jobs")
        yield from office(many, f"PostgreSQL, {jobs} jobs")
    if (bores := folder / "bores.db").exists():
        _of_today(f"sqlite:///{bores}")
    yield from commits(folder, server)


def _file(folder: Path, jobs: int) -> str:
    path = folder / f"{jobs}.db"
    if not path.exists():
        big_shop.main([str(path), str(jobs)])
    return _of_today(f"sqlite:///{path}")


def _stores(folder: Path) -> str:
    path = folder / "stores.db"
    if not path.exists():
        big_stores.main([str(path)])
    return _of_today(f"sqlite:///{path}")


def _database(server: str, jobs: int) -> str:
    name = f"shopdesk_{jobs}"
    url = urlsplit(server)._replace(path=f"/{name}").geturl()
    with psycopg.connect(server, autocommit=True) as admin:
        there = admin.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).fetchone()
        if there is None:
            admin.execute(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8'")
    if there is None:
        big_shop.main([url, str(jobs)])
    return _of_today(url)


def _of_today(url: str) -> str:
    """Brings a shop that was built by an older program up to this one's tables."""
    if migrate.current(url) != migrate.HEAD:
        migrate.upgrade(url, backup=False)
    return url


if __name__ == "__main__":
    sys.exit(main())
