"""Interchange: what may stand in for what, proposed and answered in place; who is short of it."""

import textwrap
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.columns import Column, laid, plain
from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.office.people import MANAGER
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.interchange import Interchange, Spec
    from shopdesk.tui.app import ShopApp
    from shopdesk.views.interchange import Offered


@dataclass(frozen=True, slots=True)
class InterchangeSeen:
    """``offered``: jobs short of a part that something free may stand in for."""

    known: "Sequence[Interchange]"
    offered: "Sequence[Offered]"


class InterchangeScreen(ListScreen):
    HEADING = "Stores: what may stand in for what"
    HELP = (
        "Each line lets the second part stand in for the first, never the other way round: where "
        "it says, once a manager has approved it, until it is withdrawn. N proposes one, for the "
        "part this was opened from; A approves, D turns down, X withdraws, each with a manager's "
        "initials and PIN. At the bench the approved part's lot is scanned at the kit line. "
        "Beneath stand the jobs short of a part that something free may stand in for: Enter "
        "holds it for them."
    )
    LETTERS = "nadx"
    OWN_KEYS = (
        "Enter the stand-in's part, or hold it for the job   N New"
        "\n A Approve   D turn Down   X Withdraw   F7 Find   Esc Back"
    )
    FINDS = "part, model, job tag or how it stands"
    EMPTY = " nothing may stand in for anything"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("nr", 3, right=True),
        Column("asked", 15, share=1),
        Column("may stand in", 15, share=1),
        Column("only in", 15, share=2),
        Column("how it stands", 24, share=1),
    )
    BINDINGS = [
        Binding("n,N", "propose", "New", id="interchange.new", tooltip="Propose a stand-in"),
        Binding("a,A", "approve", "Approve", id="interchange.approve", tooltip="It may stand in"),
        Binding("d,D", "turn_down", "Turn down", id="interchange.down", tooltip="It may not"),
        Binding(
            "x,X", "withdraw", "Withdraw", id="interchange.withdraw", tooltip="From now on no more"
        ),
        Binding("escape", "back", "Back", id="interchange.back", tooltip="Back to where you were"),
    ]

    def __init__(self, part: str = "") -> None:
        super().__init__()
        self.part = part

    def ask(self, shop: "Shop", text: str) -> InterchangeSeen:
        from shopdesk.views import interchange

        key = text.strip().casefold()
        with shop.read() as db:
            known = interchange.every(db, self.part)
            offered = interchange.offered(db, self.part, shop.clock())
        return InterchangeSeen(
            tuple(
                one
                for one in known
                if key in f"{one.part} {one.stand_in} {one.where} {one.stands}".casefold()
            ),
            tuple(one for one in offered if key in f"j-{one.job} {one.part} {one.by}".casefold()),
        )

    def rows(self) -> Sequence[Row]:
        known = sorted(self.answer.known, key=lambda one: (not one.open, one.part, one.number))
        rows = [self._row(one) for one in known]
        if self.answer.offered:
            rows.append(Row(Text(" Jobs that are short, and what is free", style="bold")))
            rows += [
                Row(
                    Text(f" J-{one.job} lacks {one.lacks} {one.part}: {one.said}", no_wrap=True),
                    ("job", one.job, one.part, one.by),
                )
                for one in self.answer.offered
            ]
        return rows

    def _row(self, one: "Interchange") -> Row:
        on = one.answered_at or one.at
        stands = f"{one.stands} {one.answered_by or one.by} {on.astimezone():%Y-%m-%d}"
        cells = (str(one.number), one.part, one.stand_in, one.where, stands)
        loud = [4] if one.stands == "proposed" else []
        return Row(laid(self.COLUMNS, self.width, cells, loud), ("pair", one.number))

    def about(self, key: Hashable | None) -> Sequence[str]:
        one = self._one(key)
        if one is None:
            return ()
        said = f"{one.by} {one.at.astimezone():%Y-%m-%d}: {one.reason}"
        if one.answer_reason:
            said += f"; {one.answered_by}: {one.answer_reason}"
        return textwrap.wrap(plain(said), self.width - 1, max_lines=2, placeholder=" …")

    def chosen(self, key: Hashable) -> None:
        from shopdesk.tui.stores.part import PartScreen

        match key:
            case ("job", int(number), str(part), str(by)):
                self.open_form(self._hold(number, part, by))
            case ("pair", _):
                one = self._one(key)
                if one is not None and self.is_current:
                    self.app.push_screen(PartScreen(one.stand_in))

    def _hold(self, number: int, part: str, by: str) -> FormScreen:
        app = self.shop_app
        one = next(o for o in self.answer.offered if (o.job, o.part, o.by) == (number, part, by))

        def deed(shop: "Shop", _: dict[str, str]) -> str:
            from shopdesk.desk import interchange

            return interchange.hold(shop, app.person, number, part, by)

        return FormScreen(
            f"Hold {by} for J-{number} in place of {part}",
            (),
            deed,
            context=(f"J-{number} lacks {one.lacks} {part}; {one.said}.",),
            commit="hold what it lacks",
        )

    def action_propose(self) -> None:
        self.open_form(propose(self.shop_app, self.part))

    def action_approve(self) -> None:
        self._answer("Approve", "proposed", "approve", optional=True)

    def action_turn_down(self) -> None:
        self._answer("Turn down", "proposed", "turn_down")

    def action_withdraw(self) -> None:
        self._answer("Withdraw", "approved", "withdraw")

    def _answer(self, heading: str, asked: str, deed_name: str, *, optional: bool = False) -> None:
        """Reads how the two parts differ, then asks for the manager's signature."""
        if not self.is_read():
            return
        one = self._one(self.lines.cursor_key)
        if one is None or not self.is_current:
            self.shop_app.say("no interchange is under the cursor")
            return
        if one.stands != asked:
            self.shop_app.say(f"interchange {one.number} is {one.stands}", loud=True)
            return
        reason = Field(
            "reason",
            "Reason",
            hint="what it was judged by" if optional else "it stays on record with the reason",
            optional=optional,
        )

        def look(shop: "Shop") -> "tuple[Spec, Spec]":
            from shopdesk.views import interchange

            with shop.read() as db:
                return interchange.spec(db, one.part), interchange.spec(db, one.stand_in)

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import interchange

            answer = getattr(interchange, deed_name)
            return str(answer(shop, given["signs"], one.number, given["reason"]))

        def form(both: "tuple[Spec, Spec]") -> FormScreen:
            from shopdesk.rules.interchange import differs

            differ = "; ".join(differs(*both)) or "same size, compound, thread and grade"
            return FormScreen(
                f"{heading}: {one.stand_in} in place of {one.part}",
                (reason, MANAGER),
                deed,
                context=(
                    f"Where: {one.where}. Not the other way round.",
                    f"{one.by}: {one.reason}",
                    *(f"{each.number}: {each.description}" for each in both),
                    f"By stores' own words: {differ}.",
                ),
                commit=heading.lower(),
            )

        self.ask_after(look, form)

    def action_back(self) -> None:
        self.dismiss()

    def _one(self, key: Hashable | None) -> "Interchange | None":
        return next((o for o in self.answer.known if ("pair", o.number) == key), None)


def propose(app: "ShopApp", part: str) -> FormScreen:
    """Which part may stand in for which, where, and why."""

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import interchange

        made = interchange.propose(
            shop,
            app.person,
            given["part"],
            given["stand_in"],
            given["reason"],
            only_in=given["only_in"],
        )
        return f"{made.named}: {made.stand_in} in place of {made.part}; waits for a manager"

    form = FormScreen(
        "Propose a stand-in",
        (
            Field("part", "Asked", part, hint="the part that the kit asks for"),
            Field("stand_in", "Stands in", hint="the part that may take its place"),
            Field("reason", "Reason", hint="why it does as well: drawing, maker's word, test"),
            Field(
                "only_in",
                "Only in",
                hint="models, each with a kit line where that alone: PA-016, DA-007 screw",
                optional=True,
            ),
        ),
        deed,
        context=("One way only: the part asked does not stand in for the other by it.",),
        commit="propose",
    )
    if part:
        form.fields.go("stand_in")
    return form
