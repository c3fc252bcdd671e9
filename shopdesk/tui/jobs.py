"""Lists of jobs: one painted line each, found by tag, serial, customer or model."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, ClassVar

from rich.text import Text

from shopdesk.tui.columns import Column, day, days_since, laid, local_day
from shopdesk.tui.lines import Row
from shopdesk.tui.places import ListScreen

if TYPE_CHECKING:
    from shopdesk.desk.seen import AsSeen
    from shopdesk.desk.shop import Shop
    from shopdesk.views.board import JobRow

GAS = {
    "unknown": "UNKNOWN=charged",
    "charged": "CHARGED",
    "vented": "vented",
    "none": "no gas",
}
LOUD_GAS = frozenset({"unknown", "charged"})
HALF_A_YEAR = 182
"""Days past which a late date needs its year more than its day: both would hide the word."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A list of jobs at a moment; ``found`` marks a search, whose jobs may have left."""

    now: datetime
    jobs: "Sequence[JobRow]"
    found: bool = False

    @property
    def today(self) -> date:
        return self.now.astimezone().date()

    def __eq__(self, other: object) -> bool:
        """The same jobs on the same day are painted the same."""
        return isinstance(other, Seen) and (self.jobs, self.found, self.today) == (
            other.jobs,
            other.found,
            other.today,
        )

    def __hash__(self) -> int:
        return hash((self.jobs, self.found, self.today))


class JobsScreen(ListScreen):
    """Keys of rows are job numbers; Enter opens the sheet."""

    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("tag", 7),
        Column("model", 8, share=1),
        Column("serial", 9, share=2),
        Column("customer", 10, share=3),
        Column("gas", 15),
        Column("stage", 8, share=1),
        Column("promised", 11),
    )

    def job_number(self) -> int | None:
        """The job under the cursor, whose papers F12 shows."""
        key = self.lines.cursor_key
        return key if isinstance(key, int) else None

    def listed(self, shop: "Shop") -> "Sequence[JobRow]":
        """The jobs of this place."""
        raise NotImplementedError

    def ask(self, shop: "Shop", text: str) -> Seen:
        if not text.strip():
            return Seen(shop.clock(), self.listed(shop))
        from shopdesk.views import finding

        with shop.read() as db:
            return Seen(shop.clock(), finding.find(db, text), found=True)

    def rows(self) -> Sequence[Row]:
        return [self.job_row(job) for job in self.answer.jobs]

    def job_row(self, job: "JobRow") -> Row:
        gas = GAS.get(job.gas_state, job.gas_state) if job.closed_at is None else ""
        cells = (
            f"J-{job.number}",
            job.model,
            job.serial,
            job.customer,
            gas,
            job.stage,
            promised(job, self.answer.today),
        )
        loud = [4] if job.gas_state in LOUD_GAS and job.closed_at is None else []
        return Row(laid(self.COLUMNS, self.width, cells, loud), job.number)

    def chosen(self, key: Hashable) -> None:
        number = number_of(key)
        if number is not None:
            self.shop_app.open_sheet(number)

    def job(self, key: Hashable | None) -> "JobRow | None":
        """The job of a row."""
        number = number_of(key)
        jobs: Sequence[JobRow] = self.answer.jobs if self.answer is not None else ()
        return next((job for job in jobs if job.number == number), None)

    def about(self, key: Hashable | None) -> Sequence[str]:
        job = self.job(key)
        if job is None:
            return ()
        return about_job(job, self.answer.now)

    def with_job(self, then: "Callable[[JobRow], None]") -> None:
        """Goes on with the job under the cursor, if it is open."""
        job = self.job(self.lines.cursor_key)
        if job is None:
            self.shop_app.say("no job is under the cursor")
        elif job.closed_at is not None:
            self.shop_app.say(f"J-{job.number} is closed; nothing more is done on it")
        else:
            then(job)


def seen(job: "JobRow") -> "AsSeen":
    """The job as it stands on the screen, for the deed that is done on it."""
    from shopdesk.desk.seen import AsSeen

    return AsSeen(job.version)


def number_of(key: Any) -> int | None:
    return key if isinstance(key, int) else None


def promised(job: "JobRow", today: date) -> str:
    if job.closed_at is not None:
        left = job.closed_at.astimezone().date()
        return f"left {day(left, today)}" if left.year == today.year else f"left {left:%b %y}"
    due = job.promised_on
    if due >= today:
        return day(due, today)
    return f"{due.day} {due:%b} LATE" if (today - due).days < HALF_A_YEAR else f"{due:%b %y} LATE"


def late_words(job: "JobRow", today: date) -> str:
    days = (today - job.promised_on).days
    if days <= 0:
        return ""
    return f", {days} day{'' if days == 1 else 's'} LATE"


def about_job(job: "JobRow", now: datetime) -> tuple[str, str]:
    """Two lines: what it is, what it waits for and whose move that is."""
    today = now.astimezone().date()
    kind = "" if job.kind == "customer" else f" ({job.kind})"
    head = f"J-{job.number}  {job.model} {job.serial}  {job.customer}{kind}"
    if job.closed_at is not None:
        return head, f"left {local_day(job.closed_at, today)}"
    head += f"  promised {day(job.promised_on, today)}{late_words(job, today)}"
    waited = days_since(job.waiting_since, now)
    return head, f"waits for {job.waiting_for}: {move_of(job.waiting_on)}, {waited}"


def move_of(mover: str) -> str:
    """Whose move it is: "RT's move", "stores' move"."""
    whose = mover or "nobody"
    return f"{whose}' move" if whose.endswith("s") else f"{whose}'s move"


def group(name: str, count: int, said: str) -> Row:
    """A heading the cursor passes over."""
    return Row(Text(f" {name}: {count} {said}", style="bold"))
