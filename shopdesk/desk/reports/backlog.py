"""The backlog: what waits for whom since when, and how old it is."""

from collections import Counter
from collections.abc import Callable, Sequence

from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.rules.filters import fits
from shopdesk.views import board
from shopdesk.views.board import JobRow

PRESSED = frozenset({"charged", "unknown"})
MOST_MOVERS = 5
SIGNS = "oxs+#."

COLUMNS = (
    Column("job", "tag", 7),
    Column("gas", "gas", 7),
    Column("model", "model", 7, share=1),
    Column("customer", "customer", 11, share=2),
    Column("waiting_for", "waits for", 17, share=3),
    Column("waiting_on", "move", 8),
    Column("waiting_days", "days", 4, "count"),
    Column("promised", "promised", 9, "date"),
)


def backlog(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Charged and unknown units first, then by whose move it is, the longest wait first; ``about``
    narrows it by the same plain words as on the screen: "late over 7", "RT's move"."""
    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        jobs = [job for job in board.backlog(db, board.EVERY) if fits(about, job, now)]

    def days(job: JobRow) -> int:
        return (today - job.waiting_since.astimezone().date()).days

    def line(job: JobRow) -> Line:
        gas = job.gas_state.upper() if job.gas_state in PRESSED else job.gas_state
        return Line(
            (
                f"J-{job.number}",
                gas,
                job.model,
                job.customer,
                job.waiting_for,
                job.waiting_on or "nobody",
                days(job),
                job.promised_on,
            ),
            job.number,
        )

    pressed = [job for job in jobs if job.gas_state in PRESSED]
    others = [job for job in jobs if job.gas_state not in PRESSED]
    movers = Counter(job.waiting_on or "nobody" for job in jobs)
    return Report(
        "backlog",
        f"Backlog: {about}" if about else "Backlog",
        today,
        (
            Part(
                "pressed",
                "Charged or unknown: treat as charged",
                COLUMNS,
                tuple(map(line, pressed)),
                cut=True,
            ),
            Part("others", "Vented or without gas", COLUMNS, tuple(map(line, others)), cut=True),
            Part(
                "movers",
                "By whose move it is",
                (
                    Column("move", "move", 20, share=1),
                    Column("jobs", "jobs", 6, "count"),
                    Column("oldest_days", "oldest, days", 12, "count"),
                ),
                tuple(
                    Line((mover, count, max(map(days, of(jobs, mover)))), f"backlog:{mover}'s move")
                    for mover, count in movers.most_common()
                ),
            ),
        ),
        (f"{said_of(jobs)}, {len(pressed)} of them charged or unknown.",),
        _ages(jobs, days, movers),
    )


def said_of(jobs: Sequence[JobRow]) -> str:
    return "1 open job" if len(jobs) == 1 else f"{len(jobs)} open jobs"


def of(jobs: Sequence[JobRow], mover: str) -> list[JobRow]:
    return [job for job in jobs if (job.waiting_on or "nobody") == mover]


def _ages(
    jobs: Sequence[JobRow], days: Callable[[JobRow], int], movers: Counter[str]
) -> Drawing | None:
    """How many jobs of each mover have waited at least so many days."""
    if not jobs:
        return None
    named = [mover for mover, _ in movers.most_common()]
    each = [(f"{mover}'s move", of(jobs, mover)) for mover in named[:MOST_MOVERS]]
    if rest := named[MOST_MOVERS:]:
        each.append(("everybody else's", [job for mover in rest for job in of(jobs, mover)]))
    curves = []
    for sign, (label, waiting) in zip(SIGNS, each, strict=False):
        ages = sorted((float(days(job)) for job in waiting), reverse=True)
        points = tuple((age, n + 1.0) for n, age in enumerate(ages))
        curves.append(Curve(label, points, sign, joined=False))
    return Drawing(
        "How long the open jobs have waited",
        "days waited",
        "jobs that waited as long or longer",
        tuple(curves),
    )
