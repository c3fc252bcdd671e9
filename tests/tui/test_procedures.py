"""Procedures in the office by key presses: approved, side by side, a running job moved over."""

from collections.abc import Callable

import pytest

from shopdesk.desk import procedures
from shopdesk.desk.shop import Shop
from shopdesk.tui.app import ShopApp
from shopdesk.views import sheets
from tests.tui.conftest import DATA, torn_down
from tests.tui.driving import see, type_in

SEAT = (
    '[[teardown]]\nkey = "seat"\nkind = "reading"\ntext = "Seat width"\nunit = "mm"\n'
    'limit = { high = "1.5 mm", source = "invented drawing 7", revision = "A" }\n'
    'dispositions = ["replace", "reuse", "scrap", "ask customer"]\n'
)
SPRING = '[[teardown]]\nkey = "spring"\nkind = "tick"\ntext = "Spring [bold] looked at"\n'


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    return sqlite_url


def revised() -> str:
    """The valve's procedure without its seat reading and with a look at the spring."""
    text = (DATA / "valve.toml").read_text()
    for old, new in (
        ('revision = "A"\neffective', 'revision = "B"\neffective'),
        ('changed = "First issue"', 'changed = "Seats are lapped in any case"'),
        ('within = "5 bar"', 'within = "4 bar"'),
        (SEAT, SPRING),
    ):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


async def test_a_revision_is_approved_and_a_running_job_moved_over(
    shop: Shop, new_app: Callable[..., ShopApp]
) -> None:
    number = torn_down(shop)
    procedures.bring_in(shop, "TT 3333", revised(), "", name="b")
    async with new_app().run_test(size=(80, 24)) as pilot:
        await pilot.press("f5")
        await see(pilot, "Office:", "Approve: 1 (O)")
        await pilot.press("o")
        await see(pilot, "awaits approval", "TT", "Seats are lapped in any")
        await type_in(pilot, "tv-2", "up")
        await see(pilot, "Found for", "> B ")
        await pilot.press("enter")
        await see(
            pilot,
            "TV-2: rev A beside rev B",
            "- Seat width",
            "│ Spring [bold] looked at",
            "at least: 175 bar",
            "│     at least: 176 bar",
        )
        await pilot.press("a")
        await see(pilot, "Shown: all", "Identity plate")
        await pilot.press("escape")
        await see(pilot, "awaits approval")
        await pilot.press("a")
        await see(pilot, f"J-{number} has answered teardown.seat (Seat width)")
        await type_in(pilot, "TT 3333", "enter")
        await see(pilot, "takes a manager")
        for _ in range(3):
            await pilot.press("backspace")
        await type_in(pilot, "MM 4711", "enter")
        await see(pilot, "TV-2 rev B is in force for new jobs")
        await pilot.press("j")
        await see(pilot, "In force: rev B.  On an earlier one: 1 of 1", "rev A")
        await pilot.press("enter", "m")  # typed ahead of the screen
        await see(pilot, f"Move J-{number} from rev A to rev B", "dropped though answered")
        await pilot.press("escape")
        await see(pilot, "TEARDOWN, was complete: opens again", "new, open", "dropped, answer kept")
        await pilot.press("m")
        await type_in(pilot, "lapping is cheaper", "enter", "enter")
        await see(pilot, "Why dropped lines may go: nothing is typed")
        await type_in(pilot, "lapped anyway", "enter")
        await type_in(pilot, "MM 4711", "enter")
        await see(pilot, f"J-{number} runs on rev B from here on", "rev B, begun on A")
        await pilot.press("s")
        await see(pilot, "Seat width (asked by rev A)", "Spring [bold] looked at")
    with shop.read() as db:
        view = sheets.load(db, number, shop.clock())
    assert (view.heading.revision, view.sheet.stage) == ("B", "teardown")
