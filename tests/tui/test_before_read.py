"""A key pressed while a list is still being read: no list needs what it has not got yet."""

import ast
from collections.abc import Callable
from pathlib import Path

import pytest
from textual.binding import Binding
from textual.pilot import Pilot

import shopdesk.tui
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
            screen = await _list(pilot, way)
            if screen is None:
                continue
            seen.add(type(screen).__name__)
            for action in _own_actions(type(screen)):
                screen.answer = None
                screen.lines.show([])
                await screen.run_action(action)
                while screen in app.screen_stack and app.screen is not screen:
                    app.pop_screen()
                if screen not in app.screen_stack:  # it opened another place
                    screen = await _list(pilot, way)
                    assert screen is not None
    assert len(seen) >= 14, seen


def _own_actions(screen: type[ListScreen]) -> list[str]:
    kinds = [kind for kind in screen.__mro__ if issubclass(kind, ListScreen)]
    given = [each for kind in kinds for each in vars(kind).get("BINDINGS", ())]
    return sorted({each.action for each in Binding.make_bindings(given)} - {"close", "back"})


async def _list(pilot: Pilot[int], way: tuple[str, ...]) -> ListScreen | None:
    while len(pilot.app.screen_stack) > 2:
        pilot.app.pop_screen()
    for key in way:
        await pilot.press(key)
        await settled(pilot)
    return pilot.app.screen if isinstance(pilot.app.screen, ListScreen) else None


def test_what_keys_may_ask_of_a_screen_is_there_before_it_is_put_up() -> None:
    """A key may come before ``on_mount``: what that sets, the class or ``__init__`` sets first."""
    late = []
    for path in Path(shopdesk.tui.__file__).parent.rglob("*.py"):
        for kind in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(kind, ast.ClassDef):
                made = {each.name: each for each in kind.body if isinstance(each, ast.FunctionDef)}
                early = {_name(each) for each in kind.body} | _set_by(made.get("__init__"))
                late += [(path.name, n) for n in _set_by(made.get("on_mount")) - early]
    assert late == []


def _name(line: ast.stmt) -> str:
    target = getattr(line, "target", None) or next(iter(getattr(line, "targets", ())), None)
    return target.id if isinstance(target, ast.Name) else ""


def _set_by(method: ast.FunctionDef | None) -> set[str]:
    if method is None:
        return set()
    return {
        each.attr
        for each in ast.walk(method)
        if isinstance(each, ast.Attribute) and isinstance(each.ctx, ast.Store)
        if isinstance(each.value, ast.Name) and each.value.id == "self"
    }
