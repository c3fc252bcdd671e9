"""Which tests go to which worker, and in what order, so that none is left idle at the end.

What shares something costly stays together; what takes long goes test by test and first; the rest
goes file by file. xdist's own marks for groups do nothing with pytest 9.2: they write the group
behind a test's name, where pytest no longer reads it.
"""

from typing import Protocol

from xdist.scheduler import LoadScopeScheduling

TOGETHER = {
    "tests/sample/test_office.py": "the sample shop",
    "tests/sample/test_past.py": "the sample shop",
    "tests/sample/test_today.py": "the sample shop",
    "tests/views/": "the sample shop",
    "tests/torture/": "many processes",
    "tests/records/test_many_writers.py": "many processes",
}
SINGLY = ("tests/acceptance/", "tests/records/", "tests/sample/test_building.py")
FIRST = (
    *TOGETHER,
    "tests/sample/test_building.py",
    "tests/acceptance/test_plain_day.py",
    "tests/acceptance/test_composite.py",
    "tests/acceptance/",
    "tests/rules/test_attempts.py",
    "tests/rules/test_forecast.py",
    "tests/paper/test_certificate.py",
    "tests/desk/",
    "tests/records/test_migrations.py",
    "tests/tui/",
    "tests/paper/",
)
LAST = ("tests/quantities/", "tests/calc/")


class Named(Protocol):
    @property
    def nodeid(self) -> str: ...


class Scheduling(LoadScopeScheduling):  # type: ignore[misc]
    def _split_scope(self, nodeid: str) -> str:
        for start, name in TOGETHER.items():
            if nodeid.startswith(start):
                return name
        return nodeid if nodeid.startswith(SINGLY) else nodeid.split("::")[0]


def place(item: Named) -> int:
    """Where in the queue it belongs."""
    found = (at for at, start in enumerate(FIRST) if item.nodeid.startswith(start))
    return next(found, len(FIRST) + item.nodeid.startswith(LAST))
