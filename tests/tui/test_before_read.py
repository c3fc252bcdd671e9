"""A key pressed while a list is still being read: no list needs what it has not got yet."""

from collections.abc import Callable

import pytest
from textual.binding import Binding
from textual.pilot import Pilot

from shopdesk.desk.shop import Shop
from shopdesk.tui.app import ShopApp
from shopdesk.tui.places import ListScreen
from tests.tui.conftest import on_shelf, quoted, take_in
from tests.tui.driving import settled

WAYS = (
    *(("f2",), ("f3",), ("f4",), ("f5",), ("f11",)),
    *(("f4", key) for key in ("tab", "shift+tab", "f8", "i", "t")),
    *(("f4", "enter"), ("f4", "enter", "t"), ("f4", "enter", "i")),
    *(("f5", key) for key in "civwolm"),
    *(("f5", "v", "enter"), ("f5", "o", "j"), ("f5", "o", "enter")),
)


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
async def test_a_key_before_the_list_is_read(shop: Shop, new_app: Callable[..., ShopApp]) -> None:
    on_shelf(shop)
    quoted(shop, "V-200")
    take_in(shop, "V-1")
    app, seen = new_app("MM"), set()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for way in WAYS:
            for key in await _own_keys(pilot, way):
                screen = await _go(pilot, way)
                if not isinstance(screen, ListScreen):
                    continue
                seen.add(type(screen).__name__)
                screen.answer = None
                screen.lines.show([])
                await pilot.press(key)
                await settled(pilot)
                assert app._exception is None, (way, key)
    assert len(seen) >= 14, seen


async def _own_keys(pilot: Pilot[int], way: tuple[str, ...]) -> list[str]:
    screen = await _go(pilot, way)
    kinds = [kind for kind in type(screen).__mro__ if issubclass(kind, ListScreen)]
    given = [each for kind in kinds for each in vars(kind).get("BINDINGS", ())]
    return sorted({key for each in Binding.make_bindings(given) for key in each.key.split(",")})


async def _go(pilot: Pilot[int], way: tuple[str, ...]) -> object:
    while len(pilot.app.screen_stack) > 2:
        pilot.app.pop_screen()
    for key in way:
        await pilot.press(key)
        await settled(pilot)
    return pilot.app.screen
