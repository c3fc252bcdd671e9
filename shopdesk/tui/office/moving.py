"""Running jobs of a model, what they run on, and one moved over line by line."""

import textwrap
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text
from textual.binding import Binding

from shopdesk.errors import ShopError
from shopdesk.tui.columns import Column, laid, plain
from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.lines import Row
from shopdesk.tui.office.people import MANAGER
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.moving import LineFate
    from shopdesk.views.moving import MovePlan, Running, RunsOn


class RunningScreen(ListScreen):
    HELP = (
        "Every open job of the model with the revision it runs on. A job stays on it until "
        "somebody moves it over: Enter shows line by line what that would do, and nothing is done "
        "before a manager signs. S opens the job's sheet."
    )
    LETTERS = "s"
    OWN_KEYS = "Enter what moving over would do   S Sheet   F7 Find   Esc Back"
    FINDS = "tag, serial, customer, section or rev"
    EMPTY = " no job of this model is open"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("tag", 7),
        Column("serial", 11, share=1),
        Column("customer", 16, share=2),
        Column("stands at", 10),
        Column("gas", 8),
        Column("runs on", 19),
    )
    BINDINGS = [
        Binding("s,S", "sheet", "Sheet", id="running.sheet", tooltip="The job's sheet"),
        Binding("escape", "back", "Back", id="running.back", tooltip="Back to the procedures"),
    ]

    def __init__(self, model: str) -> None:
        super().__init__()
        self.HEADING = f"{model}: running jobs"  # type: ignore[misc]
        self.model = model

    def ask(self, shop: "Shop", text: str) -> "Running":
        from dataclasses import replace

        from shopdesk.views import moving

        with shop.read() as db:
            found = moving.running(db, self.model)
        key = text.strip().casefold()
        return replace(found, jobs=tuple(j for j in found.jobs if key in _said(j)))

    def rows(self) -> Sequence[Row]:
        return [
            Row(
                laid(
                    self.COLUMNS,
                    self.width,
                    (f"J-{j.job}", j.serial, j.customer, j.stage, j.gas_state, _on(j)),
                ),
                j.job,
            )
            for j in self.answer.jobs
        ]

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            earlier = sum(j.revision != self.answer.in_force for j in self.answer.jobs)
            self.say_found(
                f"In force: rev {self.answer.in_force or 'none'}.  "
                f"On an earlier one: {earlier} of {len(self.answer.jobs)}."
            )

    def about(self, key: Hashable | None) -> Sequence[str]:
        one = next((j for j in self.answer.jobs if j.job == key), None)
        if one is None:
            return ()
        if one.revision == self.answer.in_force:
            return (f"J-{one.job} runs on what is in force",)
        return (f"Enter: line by line what moving J-{one.job} to rev {self.answer.in_force} does",)

    def chosen(self, key: Hashable) -> None:
        number = int(str(key))

        def look(shop: "Shop") -> "MovePlan":
            from shopdesk.views import moving

            with shop.read() as db:
                return moving.plan(db, number, shop.clock())

        def known(found: "MovePlan") -> None:
            if self.is_current:
                self.app.push_screen(MoveScreen(number, found))

        def not_known(fault: ShopError) -> None:
            self.shop_app.release_keys()
            self.shop_app.complain(fault)

        self.shop_app.hold_keys()
        self.shop_app.look("move", look, known, not_known)

    def action_sheet(self) -> None:
        key = self.lines.cursor_key
        if key is not None and self.is_current:
            self.shop_app.open_sheet(int(str(key)))

    def action_back(self) -> None:
        self.dismiss()


def _on(job: "RunsOn") -> str:
    moved = f", begun on {job.begun_on}" if job.begun_on != job.revision else ""
    return f"rev {job.revision}{moved}"


def _said(job: "RunsOn") -> str:
    return f"j-{job.job} {job.serial} {job.customer} {job.stage} {_on(job)}".casefold()


class MoveScreen(ListScreen):
    HELP = (
        "What becomes of each line of this job on the revision in force. An answer stands where "
        "the line asks the same; where a limit changed it is judged anew, and the verdict is "
        "shown; where something else is asked the line is open again and the old answer stays to "
        "be seen. A line that is dropped though answered takes a reason. M moves the job over "
        "with a manager's signature; entries are never changed. Esc leaves it where it is."
    )
    LETTERS = "am"
    OWN_KEYS = "M Move it over   A All lines, or what changes   F7 Find   Esc it stays"
    FINDS = "line or section"
    EMPTY = " nothing changes for this job; A shows all lines"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("line", 36, share=2),
        Column("answered", 18, share=1),
        Column("what happens", 20),
    )
    BINDINGS = [
        Binding("m,M", "move", "Move over", id="move.over", tooltip="With a manager's signature"),
        Binding("a,A", "all", "All", id="move.all", tooltip="All lines, or what changes"),
        Binding("escape", "back", "Back", id="move.back", tooltip="The job stays where it is"),
    ]

    def __init__(self, number: int, found: "MovePlan") -> None:
        super().__init__()
        self.HEADING = f"J-{number}: moved over, line by line"  # type: ignore[misc]
        self.number, self.found = number, found
        self.everything = self.moved = False

    def on_mount(self) -> None:
        self.call_after_refresh(self.shop_app.release_keys)

    def ask(self, shop: "Shop", text: str) -> "MovePlan":
        from shopdesk.views import moving

        with shop.read() as db:
            return moving.plan(db, self.number, shop.clock())

    def reload(self, then: Callable[[], None] | None = None) -> None:
        if not self.moved:
            super().reload(then)

    def shown(self) -> "list[LineFate]":
        from shopdesk.rules.moving import TELLING

        key = self.lines.text.strip().casefold()
        return [
            each
            for each in self.answer.plan.lines
            if (self.everything or key or each.fate in TELLING)
            and key in f"{each.key} {each.text} {each.fate}".casefold()
        ]

    def rows(self) -> Sequence[Row]:
        rows: list[Row] = []
        for section, lines in groupby(self.shown(), key=lambda each: each.section):
            again = ", was complete: opens again" if section in self.answer.plan.reopened else ""
            rows.append(Row(Text(f"{section.upper()}{again}", style="bold")))
            for each in lines:
                rows += self._rows(each)
        return rows

    def _rows(self, each: "LineFate") -> Iterator[Row]:
        from shopdesk.rules.moving import Fate

        loud = [2] if each.now == "outside" or each.fate is Fate.DROPPED else []
        cells = (each.text, each.answer or "open", happens(each))
        yield Row(laid(self.COLUMNS, self.width, cells, loud), each.key)
        for text in beneath(each):
            for line in textwrap.wrap(plain(text), self.width - 6):
                yield Row(Text(f"     {line}", no_wrap=True))

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            self.say_found(f"Rev {self.answer.was} to {self.answer.now}: {counted(self.answer)}")

    def about(self, key: Hashable | None) -> Sequence[str]:
        each = next((one for one in self.answer.plan.lines if one.key == key), None)
        said = f"{each.key}: {each.fate}" if each is not None else ""
        return said, consequences(self.answer)

    def action_move(self) -> None:
        found: MovePlan = self.answer or self.found
        if not self.is_current:
            return
        if found.plan.refusal is not None:
            self.shop_app.say(found.plan.refusal.sentence, loud=True)
            return
        number, seen = self.number, found.view.sheet.facts.version

        def deed(shop: "Shop", given: dict[str, str]) -> str:
            from shopdesk.desk import moving
            from shopdesk.desk.seen import AsSeen

            after = moving.move_over(
                shop,
                given["signs"],
                number,
                given["reason"],
                dropped_reason=given.get("dropped", ""),
                seen=AsSeen(seen),  # anew each time: another plan has to be looked at first
            )
            self.moved = True
            return (
                f"J-{number} runs on rev {after.heading.revision} from here on; it stands at "
                f"{after.heading.stage}"
            )

        def done(given: dict[str, str] | None) -> None:
            if given is not None:
                self.dismiss()

        form = FormScreen(
            f"Move J-{number} from rev {found.was} to rev {found.now}",
            (
                Field("reason", "Why it is moved", hint="stays on record with the move"),
                *_dropped(found),
                MANAGER,
            ),
            deed,
            context=(counted(found), *_context(found)),
            commit="move it over",
        )
        self.app.push_screen(form, done)

    def action_all(self) -> None:
        self.everything = not self.everything
        self.repaint()

    def action_back(self) -> None:
        self.dismiss()


def happens(each: "LineFate") -> str:
    """ "judged anew: OUTSIDE", "asked again"."""
    if each.fate == "judged anew":
        return f"judged anew: {_verdict(each.now)}"
    return str(each.fate)


def beneath(each: "LineFate") -> Iterator[str]:
    """What is behind it: verdict before and after, and every field with both values."""
    if each.fate == "judged anew":
        limit = f" ({each.limit})" if each.limit else ""
        yield f"was {_verdict(each.was)}, is {_verdict(each.now)}{limit}"
    if each.why:
        yield each.why
    if each.fate not in ("stands", "signed again", "open as before", "asked now"):
        for one in each.differs:
            yield f"{one.field}: {one.was or 'none'}; now {one.now or 'none'}"


def _verdict(verdict: str) -> str:
    return {"outside": "OUTSIDE", "none": "no limit"}.get(verdict, verdict)


def counted(found: "MovePlan") -> str:
    """ "40 stand, 2 judged, 1 dropped"; short enough for a line of 80."""
    number = Counter(each.fate.value.partition(",")[0] for each in found.plan.lines)
    stands = number.pop("stands", 0)
    number.pop("open as before", None)
    said = [f"{count} {fate.removesuffix(' anew')}" for fate, count in number.items()]
    return ", ".join((f"{stands} stand", *said))


def consequences(found: "MovePlan") -> str:
    """What the move does beside its lines, in one line."""
    said = []
    if found.plan.reopened:
        said.append(f"open again: {', '.join(found.plan.reopened)}")
    if any(each.section == "vent" and each.fate == "asked now" for each in found.plan.lines):
        said.append("vented anew before it is opened")
    if found.plan.gas != found.view.sheet.facts.gas_state:
        said.append(f"gas becomes {found.plan.gas.value.upper()}: counts as charged")
    if found.plan.refusal is not None:
        said.append(found.plan.refusal.sentence)
    return "; ".join(said)


def _context(found: "MovePlan") -> tuple[str, ...]:
    dropped: list[Any] = [
        f"dropped though answered: {each.text} ({each.answer})" for each in found.plan.dropped
    ]
    said = consequences(found)
    return (*dropped, said) if said else tuple(dropped)


def _dropped(found: "MovePlan") -> tuple[Field, ...]:
    if not found.plan.dropped:
        return ()
    hint = "why the answered lines may be dropped; their answers stay to be seen"
    return (Field("dropped", "Why dropped lines may go", hint=hint),)
