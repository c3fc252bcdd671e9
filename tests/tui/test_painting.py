"""What a key paints: everything it changes at once, and nothing laid out anew."""

import asyncio
from collections.abc import Callable

import pytest
from textual import events
from textual._compositor import Compositor
from textual.keys import _character_to_key
from textual.screen import Screen

from shopdesk.desk.shop import Shop
from shopdesk.tui.app import ShopApp
from tests.tui.conftest import proved, take_in
from tests.tui.driving import see, settled, type_in

NewApp = Callable[..., ShopApp]
SIZE = (80, 24)
SETTLED_S = 0.1
SQLITE = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)


class Painted:
    """Counts what Textual paints and lays out."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.paintings = self.layouts = 0
        paint, lay = Compositor.render_update, Screen._refresh_layout

        def painting(*args: object, **named: object) -> object:
            self.paintings += 1
            return paint(*args, **named)  # type: ignore[arg-type]

        def laying(*args: object, **named: object) -> None:
            self.layouts += 1
            lay(*args, **named)  # type: ignore[arg-type]

        patch.setattr(Compositor, "render_update", painting)
        patch.setattr(Screen, "_refresh_layout", laying)

    async def by(self, app: ShopApp, key: str) -> tuple[int, int]:
        """Paintings and layouts of one key, until nothing more follows."""
        self.paintings = self.layouts = 0
        sign = key if len(key) == 1 else None
        app.post_message(events.Key(_character_to_key(sign) if sign else key, sign))
        while not self.paintings:
            await asyncio.sleep(0.01)
        await asyncio.sleep(SETTLED_S)
        return self.paintings, self.layouts


@SQLITE
async def test_a_key_is_one_painting_on_lists_and_sheets(
    shop: Shop, new_app: NewApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = new_app("TT")
    app._watch = lambda: None  # type: ignore[method-assign] # nobody else writes
    numbers = [take_in(shop, f"V-{n}") for n in range(30)]
    async with app.run_test(size=SIZE) as pilot:
        await see(pilot, f"J-{numbers[0]}")
        await settled(pilot)
        painted = Painted(monkeypatch)
        for key in ["down"] * 16 + ["up", "end", "home"]:  # it scrolls, too
            assert await painted.by(app, key) == (1, 0), key
        await see(pilot, f"J-{numbers[0]}  TV-2", "waits for")
        await pilot.press("enter")
        await see(pilot, "Asks:")
        await settled(pilot)
        for key in ("4", "2", "down", "up", "backspace"):
            assert await painted.by(app, key) == (1, 0), key
        assert (await see(pilot, "> 4")).count("Asks:") == 1


@SQLITE
async def test_a_pin_typed_on_the_sheet_is_not_shown(shop: Shop, new_app: NewApp) -> None:
    number = proved(shop)
    async with new_app("TT").run_test(size=SIZE) as pilot:
        await type_in(pilot, f"J-{number}", "enter")
        await see(pilot, "Asks:", "RELEASE")
        await type_in(pilot, "mm 4711")
        assert "4711" not in await see(pilot, "> mm ••••")
        await pilot.press("enter")
        assert "4711" not in await see(pilot, "RELEASE  1 of 1")
