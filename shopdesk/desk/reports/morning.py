"""The morning page: the manager's questions in order, each figure with what it is made of."""

from collections import Counter
from collections.abc import Sequence
from datetime import date

from shopdesk.desk import forecasting
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.reports.promising import likely_late, this_week
from shopdesk.desk.reports.returns import lately
from shopdesk.desk.shop import Shop
from shopdesk.rules.shop import money
from shopdesk.rules.waiting import parts_waited_for
from shopdesk.views import board, costs, documents, forecasts, quality
from shopdesk.views.board import JobRow
from shopdesk.views.forecasts import Promises

PRESSED = frozenset({"charged", "unknown"})
RECENT_DAYS = 30
NAMED = 3
COLUMNS = (
    Column("question", "", 27),
    Column("answer", "", 5, "count"),
    Column("detail", "", 40, share=1),
)


def morning(shop: Shop, tell: Tell | None, about: str) -> Report:
    """One screen; Enter on a line opens what its figure is made of."""
    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        jobs = board.backlog(db, board.EVERY)
        quotes = board.quotes_open(db)
        currency = documents.rules(db).currency
        left = quality.left(db, now)
        working = costs.in_work(db)
        told = forecasts.promises(db, now, tell)
    forecasting.keep(shop, told)
    asked = sum(quote.total_cents for quote in quotes)
    oldest = quotes[0] if quotes else None
    back = lately(left, RECENT_DAYS, now)
    past = sum(told.floor.past.jobs_of.values())
    lines = (
        _pressed(jobs),
        _late(jobs, today),
        _will_be(told, today),
        *_moves(jobs, today),
        Line(
            (
                "Quotes unanswered",
                len(quotes),
                f"{money(asked, currency)}; the oldest J-{oldest.number}, "
                f"{(today - oldest.at.astimezone().date()).days} days"
                if oldest
                else "none",
            ),
            "money:quotes",
        ),
        _parts(jobs),
        _leaving(told, today),
        _loaded(told),
        Line(
            (
                f"Came back in {RECENT_DAYS} days",
                len(back),
                f"{sum(e.returned for e in left)} of the last {len(left)} that left",
            ),
            f"returns:{RECENT_DAYS}",
        ),
        Line(
            (
                "In work at cost",
                len(working),
                money(sum(each.cost_cents for each in working), currency),
            ),
            "money:work",
        ),
    )
    return Report(
        "morning",
        f"Morning of {today:%A} {today.day} {today:%B %Y}",
        today,
        (Part("questions", "", COLUMNS, lines),),
        (f"{told.floor.rules.name}; forecasts from {past} closed jobs.",),
    )


def _named(numbers: Sequence[int], words: Sequence[str]) -> str:
    """The first few, and how many more."""
    said = ", ".join(
        f"J-{number} {word}".strip()
        for number, word in list(zip(numbers, words, strict=True))[:NAMED]
    )
    more = len(numbers) - NAMED
    return f"{said} and {more} more" if more > 0 else said or "none"


def _pressed(jobs: Sequence[JobRow]) -> Line:
    held = [job for job in jobs if job.gas_state in PRESSED]
    unknown = sum(job.gas_state == "unknown" for job in held)
    return Line(
        (
            "Charged or unknown",
            len(held),
            f"{len(held) - unknown} charged, {unknown} unknown: treat all as charged",
        ),
        "backlog:charged or unknown",
    )


def _late(jobs: Sequence[JobRow], today: date) -> Line:
    late = sorted((j for j in jobs if j.promised_on < today), key=lambda j: j.promised_on)
    words = [f"{(today - job.promised_on).days} d" for job in late]
    return Line(("Late", len(late), _named([job.number for job in late], words)), "backlog:late")


def _will_be(told: Promises, today: date) -> Line:
    likely = sorted(
        (d for d in told.dates.values() if likely_late(d, today)), key=lambda d: d.keeps
    )
    words = [f"{d.job.promised_on.day} {d.job.promised_on:%b}: {d.keeps:.0%}" for d in likely]
    return Line(
        ("Will likely be late", len(likely), _named([d.job.number for d in likely], words)),
        "promises:likely late",
    )


def _moves(jobs: Sequence[JobRow], today: date) -> list[Line]:
    """Whose move it is: the three with most jobs, each with its longest wait."""
    movers = Counter(job.waiting_on or "nobody" for job in jobs).most_common(3)
    lines = []
    for mover, count in movers:
        of = [job for job in jobs if (job.waiting_on or "nobody") == mover]
        oldest = min(of, key=lambda job: job.waiting_since)
        days = (today - oldest.waiting_since.astimezone().date()).days
        said = f"longest {days} d: J-{oldest.number} {oldest.waiting_for}"
        lines.append(
            Line((f"{mover[:1].upper()}{mover[1:]}'s move", count, said), f"backlog:{mover}'s move")
        )
    return lines


def _parts(jobs: Sequence[JobRow]) -> Line:
    short = [(job, parts_waited_for(job.waiting_for)) for job in jobs]
    waiting = [(job, parts) for job, parts in short if parts]
    return Line(
        (
            "Wait for parts",
            len(waiting),
            _named([job.number for job, _ in waiting], [" ".join(parts) for _, parts in waiting]),
        ),
        "backlog:part short",
    )


def _leaving(told: Promises, today: date) -> Line:
    found = [d for d in told.dates.values() if this_week(d, today)]
    found.sort(key=lambda d: d.by_50)
    words = [f"{d.by_50:%a}" for d in found]
    return Line(
        ("Likely to leave this week", len(found), _named([d.job.number for d in found], words)),
        "promises:this week",
    )


def _loaded(told: Promises) -> Line:
    if told.outlook is None:
        return Line(("Loaded this week", None, "nothing to forecast from yet"), "load")
    week = told.outlook.loads.open_h[0]
    loads = sorted(
        ((hours[0], told.floor.names[who]) for who, hours in told.outlook.loads.person_h.items()),
        reverse=True,
    )
    said = ", ".join(f"{who} {hours:.0f} h" for hours, who in loads[:NAMED])
    over = sum(hours > 0.8 * week for hours, _ in loads)
    return Line(("Loaded above 80 %", over, said or "nobody"), "load")
