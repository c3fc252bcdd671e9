"""The bench: a technician's own units, then those nobody has taken."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from rich.text import Text
from textual.binding import Binding

from shopdesk.tui.jobs import JobsScreen, group, seen
from shopdesk.tui.lines import Row

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.board import JobRow


class BenchScreen(JobsScreen):
    HEADING = "Bench: my units"
    HELP = (
        "The units you have taken, by the day promised, then those nobody has. Enter opens the "
        "sheet where it stands; scanning a tag does the same from anywhere. T puts the unit under "
        "the cursor on your bench."
    )
    LETTERS = "tc"
    OWN_KEYS = "Enter sheet   T Take the job   C Calculator   F7 Find"
    EMPTY = " no unit is at the benches"
    BINDINGS = [
        Binding("t,T", "take", "Take", id="bench.take", tooltip="Put the job on your bench"),
        Binding(
            "c,C",
            "app.calculator",
            "Calculator",
            id="bench.calculator",
            tooltip="The bench's calculations",
        ),
    ]

    def reload(self, then: Callable[[], None] | None = None) -> None:
        self.who = self.shop_app.person  # in a lane the screen may be gone, and its app with it
        super().reload(then)

    def listed(self, shop: "Shop") -> "Sequence[JobRow]":
        from shopdesk.views import board

        with shop.read() as db:
            return board.bench(db, self.who)

    def rows(self) -> Sequence[Row]:
        if self.answer.found:
            return super().rows()
        person = self.shop_app.person
        mine = [job for job in self.answer.jobs if job.assigned and job.assigned == person]
        free = [job for job in self.answer.jobs if not job.assigned]
        rows = []
        if person:
            rows.append(group(f"{person}'s bench", len(mine), "taken"))
            rows += [self.job_row(job) for job in mine]
        else:
            rows.append(Row(Text(" F6 says who you are; your units then stand here", style="bold")))
        if free:
            rows.append(group("Nobody's yet", len(free), "to take"))
            rows += [self.job_row(job) for job in free]
        return rows

    def action_take(self) -> None:
        self.with_job(self._take)

    def _take(self, job: "JobRow") -> None:
        app, number, as_seen = self.shop_app, job.number, seen(job)

        def deed(shop: "Shop") -> str:
            from shopdesk.desk import bench

            bench.take_job(shop, app.person, number, app.person, seen=as_seen)
            return f"J-{number} is on {app.person}'s bench"

        app.with_person(lambda: self.deed(deed))
