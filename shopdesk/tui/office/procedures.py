"""Procedures by revision: who brought in what, when, why; approved or turned down in place."""

import textwrap
from collections.abc import Hashable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding
from textual.screen import Screen

from shopdesk.tui.columns import Column, laid, plain
from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.office.people import MANAGER
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.procedures import RevisionRow


class ProceduresScreen(ListScreen):
    HEADING = "Office: procedures by revision"
    HELP = (
        "Every revision of every model's procedure, the newest first: how it stands, who brought "
        "it in, when and why. A new one is brought in with `shopdesk procedure import FILE` and "
        "waits here: A approves it, D turns it down, both with a manager's initials and PIN. From "
        "then on new jobs open on it; running ones stay on theirs, J lists them and moves them "
        "over. Enter shows a revision beside the one before it, C beside any other."
    )
    LETTERS = "adjc"
    OWN_KEYS = (
        "Enter beside the one before   C Compare with another   J Jobs running"
        "\n A Approve   D turn Down   F7 Find   Esc Back"
    )
    FINDS = "model, initials, how it stands or a word of why"
    EMPTY = " no procedure is on record"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("rev", 7),
        Column("stands", 15),
        Column("by", 4),
        Column("on", 10),
        Column("what changed and why", 26, share=1),
        Column("jobs", 4, right=True),
    )
    DEFAULT_CSS = "ProceduresScreen .detail { height: 4; }"
    BINDINGS = [
        Binding("a,A", "approve", "Approve", id="procedures.approve", tooltip="Put it in force"),
        Binding("d,D", "turn_down", "Turn down", id="procedures.down", tooltip="Never in force"),
        Binding("j,J", "jobs", "Jobs", id="procedures.jobs", tooltip="Running jobs of the model"),
        Binding(
            "c,C", "compare", "Compare", id="procedures.compare", tooltip="Beside another revision"
        ),
        Binding("escape", "back", "Back", id="procedures.back", tooltip="Back to the office"),
    ]

    def ask(self, shop: "Shop", text: str) -> "Sequence[RevisionRow]":
        from shopdesk.views import procedures

        with shop.read() as db:
            return procedures.revisions_of(db, text)

    def rows(self) -> Sequence[Row]:
        rows: list[Row] = []
        for (model, name), revisions in groupby(self.answer, key=lambda r: (r.model, r.name)):
            rows.append(Row(Text(plain(f"{model}  {name}"), style="bold", no_wrap=True)))
            rows += [self._row(one) for one in revisions]
        return rows

    def _row(self, one: "RevisionRow") -> Row:
        cells = (
            one.revision,
            one.stands,
            one.by,
            f"{one.at.astimezone():%Y-%m-%d}",
            one.why,
            str(one.jobs or ""),
        )
        loud = [1] if one.stands == "awaits approval" else []
        return Row(laid(self.COLUMNS, self.width, cells, loud), (one.model, one.revision))

    def about(self, key: Hashable | None) -> Sequence[str]:
        one = self._one(key)
        if one is None:
            return ()
        said = f"{one.model} rev {one.revision} {one.stands}"
        if one.answered_at is not None:
            did = "turned down" if one.stands == "turned down" else "approved"
            on = f"{one.answered_at.astimezone():%Y-%m-%d}"
            said += f"; {did} by {one.answered_by or 'nobody'} {on}"
        said += f": {plain(one.reason)}" if one.reason else ""
        return *textwrap.wrap(plain(one.why), self.width - 1, max_lines=3, placeholder=" …"), said

    def chosen(self, key: Hashable) -> None:
        one = self._one(key)
        if one is None:
            return
        if one.before:
            self._beside(one.model, one.before, one.revision)
        else:
            self.shop_app.say(f"{one.model} rev {one.revision} is the first of its model")

    def _beside(self, model: str, was: str, now: str) -> None:
        from shopdesk.tui.office.beside import BesideScreen

        self._show(BesideScreen(model, was, now))

    def action_compare(self) -> None:
        one = self._one(self.lines.cursor_key)
        if one is None:
            return
        others = [r.revision for r in self.answer if r.model == one.model and r is not one]
        asked: list[str] = []

        def look(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.views import procedures

            with shop.read() as db:
                asked[:] = [procedures.find(db, one.model, given["other"])[1].revision]
            return ""

        def found(given: dict[str, str] | None) -> None:
            from shopdesk.rules import revisions

            if given is not None and asked:
                was, now = sorted((asked[0], one.revision), key=revisions.order)
                self._beside(one.model, was, now)

        hint = f"others here: {', '.join(others)}" if others else "there is no other"
        form = FormScreen(
            f"{one.model} rev {one.revision} beside",
            (Field("other", "Revision", hint=hint),),
            look,
            commit="show them",
        )
        if self.is_current:
            self.app.push_screen(form, found)

    def action_jobs(self) -> None:
        from shopdesk.tui.office.moving import RunningScreen

        one = self._one(self.lines.cursor_key)
        if one is not None:
            self._show(RunningScreen(one.model))

    def action_approve(self) -> None:
        self._answer("Approve", "approve", ())

    def action_turn_down(self) -> None:
        why = Field("reason", "Why not", hint="it stays on record with the reason")
        self._answer("Turn down", "turn down", (why,))

    def _answer(self, heading: str, commit: str, fields: tuple[Field, ...]) -> None:
        """Reads what the revision changes, then asks for the manager's signature."""
        one = self._one(self.lines.cursor_key)
        if one is None or not self.is_current:
            return
        if one.stands != "awaits approval":
            self.shop_app.say(f"{one.model} rev {one.revision}: {one.stands}", loud=True)
            return

        def look(shop: "Shop") -> tuple[str, ...]:
            from shopdesk.desk import procedures

            return procedures.look_at_proposal(shop, one.model, one.revision)

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import procedures

            if "reason" in given:
                return procedures.turn_down(
                    shop, given["signs"], one.model, one.revision, given["reason"]
                )
            return procedures.approve(shop, given["signs"], one.model, one.revision)

        def form(said: tuple[str, ...]) -> FormScreen:
            return FormScreen(
                f"{heading} {one.model} rev {one.revision}",
                (*fields, MANAGER),
                deed,
                context=(f"{one.by}, {one.at.astimezone():%Y-%m-%d}: {one.why}", *said),
                commit=commit,
            )

        self.ask_after(look, form)

    def action_back(self) -> None:
        self.dismiss()

    def _one(self, key: Hashable | None) -> "RevisionRow | None":
        return next((r for r in self.answer or () if (r.model, r.revision) == key), None)

    def _show(self, screen: Screen[None]) -> None:
        if self.is_current:
            self.app.push_screen(screen)
