"""Promises: when every open job will be done, one job's promises, forecasts scored."""

from datetime import date, timedelta

from shopdesk.desk import forecasting
from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput
from shopdesk.rules import scoring
from shopdesk.rules.scoring import PLAIN, Scored
from shopdesk.views import forecasts, promised
from shopdesk.views.forecasts import Dates, Promises
from shopdesk.views.promised import Promised

MOST_DRAWN = 14
LIKELY = 0.5

DATES = (
    Column("job", "tag", 7),
    Column("model", "model", 7, share=1),
    Column("first_promised", "first", 9, "date"),
    Column("promised", "promised", 9, "date"),
    Column("by_50", "50 %", 7, "date"),
    Column("by_80", "80 %", 7, "date"),
    Column("by_95", "95 %", 7, "date"),
    Column("kept", "kept", 4, "share"),
    Column("waiting_for", "waits for", 12, share=4),
)


def promises(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Every open job, the least likely promise first, or those that are ``about``: late, likely
    late, this week. What is said is kept once a day."""
    if about not in ("", *OF_WHICH):
        raise BadInput(f"read {about[:20]!r}; promises may be: {', '.join(OF_WHICH)}")
    with shop.read() as db:
        told = forecasts.promises(db, shop.clock(), tell)
    forecasting.keep(shop, told)
    return of_promises(told, about)


def late(dates: Dates, today: date) -> bool:
    return dates.job.promised_on < today


def likely_late(dates: Dates, today: date) -> bool:
    return not late(dates, today) and dates.keeps < LIKELY


def this_week(dates: Dates, today: date) -> bool:
    """Whether the job is likely to leave before the week is over."""
    return dates.by_50 <= today + timedelta(days=6 - today.weekday())


OF_WHICH = {"late": late, "likely late": likely_late, "this week": this_week}


def of_promises(told: Promises, about: str = "") -> Report:
    today = told.floor.today
    rows = sorted(told.dates.values(), key=lambda d: (d.keeps, d.job.promised_on, d.job.number))
    if about:
        rows = [dates for dates in rows if OF_WHICH[about](dates, today)]
    passed = sum(late(d, today) for d in rows)
    unlikely = sum(likely_late(d, today) for d in rows)
    said: tuple[str, ...] = (
        f"{len(rows)} open: {passed} past their promise, {unlikely} more that will likely miss it.",
        "Done by the day with 50, 80, 95 %; kept: the chance to keep the promised day.",
        f"Learned from {sum(told.floor.past.jobs_of.values())} closed jobs, people and benches as "
        "they are.",
    )
    if told.outlook is None:
        said = ("Too few jobs have been closed yet to forecast from.",)
    return Report(
        "promises",
        f"Promises: {about}" if about else "Promises",
        today,
        (Part("dates", "", DATES, tuple(_line(d) for d in rows), "no open job"),),
        said,
        _spread(rows, today),
    )


def _line(dates: Dates) -> Line:
    job = dates.job
    return Line(
        (
            f"J-{job.number}",
            job.model,
            job.first_promised_on,
            job.promised_on,
            dates.by_50,
            dates.by_80,
            dates.by_95,
            dates.keeps,
            job.waiting_for,
        ),
        f"promise:{job.number}",
    )


def _spread(rows: list[Dates], today: date) -> Drawing | None:
    drawn = rows[:MOST_DRAWN]
    if not drawn:
        return None

    def days(when: date) -> float:
        return float((when - today).days)

    up = {d.job.number: float(len(drawn) - n) for n, d in enumerate(drawn)}
    signs = (
        ("done by with 50 %", "o", [d.by_50 for d in drawn]),
        ("80 %", "x", [d.by_80 for d in drawn]),
        ("95 %", "+", [d.by_95 for d in drawn]),
        ("promised", "P", [d.job.promised_on for d in drawn]),
    )
    curves = tuple(
        Curve(
            label,
            tuple((days(on), up[d.job.number]) for d, on in zip(drawn, dates, strict=True)),
            sign,
            joined=False,
        )
        for label, sign, dates in signs
    )
    which = f", the {len(drawn)} least likely to be kept" if len(rows) > len(drawn) else ""
    return Drawing(
        f"Promises and when the jobs will be done{which}",
        "days from today",
        "job",
        curves,
        names=tuple((up[d.job.number], f"J-{d.job.number}") for d in drawn),
    )


# One job -----------------------------------------------------------------------------------------


def promise(shop: Shop, tell: Tell | None, about: str) -> Report:
    """One job's promises with who changed them and why, and what was forecast when."""
    digits = about.upper().removeprefix("J-")
    if not (digits.isascii() and digits.isdigit()):
        raise BadInput(f"read {about[:20]!r}; a job is named by its tag: promise:1047")
    number = int(digits)
    with shop.read() as db:
        job = promised.of_job(db, number)
        changes = promised.changes(db, number)
        said = promised.said_of(db, number)
        told = None if job.closed_at else forecasts.promises(db, shop.clock(), tell)
    dates = told.dates.get(number) if told is not None else None
    today = shop.clock().astimezone().date()
    lines = [Line((s.made_on, s.by_50, s.by_80, s.by_95, s.by_plain)) for s in said]
    if dates is not None:
        lines = [line for line in lines if line.cells[0] != today]
        lines.append(Line((today, dates.by_50, dates.by_80, dates.by_95, dates.plain)))
    return Report(
        "promise",
        f"J-{number}  {job.model} {job.serial}: promises",
        today,
        (
            Part(
                "changes",
                "Every promise, with who changed it and why",
                (
                    Column("on", "on", 9, "date"),
                    Column("promised", "promised", 9, "date"),
                    Column("who", "who", 4),
                    Column("reason", "why", 40, share=1),
                ),
                (
                    Line((job.opened_at, job.first_promised_on, "", "when taken in"), number),
                    *(Line((c.at, c.now, c.who, c.reason), number) for c in changes),
                ),
            ),
            Part(
                "forecasts",
                "What was forecast",
                (
                    Column("on", "said on", 9, "date"),
                    Column("by_50", "50 %", 9, "date"),
                    Column("by_80", "80 %", 9, "date"),
                    Column("by_95", "95 %", 9, "date"),
                    Column("plain", "mean + 2 dev.", 13, "date"),
                ),
                tuple(lines),
            ),
        ),
        _how_it_stands(job, dates),
        _chances(told, dates) if told is not None and dates is not None else None,
    )


def _how_it_stands(job: Promised, dates: Dates | None) -> tuple[str, ...]:
    if job.closed_at is not None:
        done = job.closed_at.astimezone().date()
        late = (done - job.promised_on).days
        kept = f"{late} d after its promise" if late > 0 else "its promise kept"
        return (f"Done on {done.day} {done:%B %Y}: {kept}.",)
    if dates is None:
        return ("Too few jobs have been closed yet to forecast from.",)
    return (
        f"Done by the promised day with {dates.keeps:.0%}; {dates.own} past jobs of the model.",
        f"Waits for {dates.job.waiting_for}: {dates.job.waiting_on or 'nobody'}.",
    )


def _chances(told: Promises, dates: Dates) -> Drawing | None:
    if told.outlook is None:
        return None
    found = told.outlook.forecasts[dates.job.number].finishes_h
    axis, today = told.floor.axis, told.floor.today
    steps = [
        (float((axis.day(at) - today).days), (n + 1) / len(found)) for n, at in enumerate(found)
    ]
    due = float((dates.job.promised_on - today).days)
    return Drawing(
        f"J-{dates.job.number}: chance to be done by a day",
        "days from today",
        "chance",
        (
            Curve("done", tuple(steps)),
            Curve("promised", ((due, 0.0), (due, 1.0)), "P"),
        ),
    )


# Scored ------------------------------------------------------------------------------------------

SCORES = (
    Column("rule", "date", 20, share=1),
    Column("stated", "stated", 6, "share"),
    Column("kept", "kept", 5, "share"),
    Column("low", "at least", 8, "share"),
    Column("high", "at most", 7, "share"),
    Column("jobs", "jobs", 5, "count"),
    Column("ahead", "days ahead", 10, "days"),
)


def calibration(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Stored forecasts, and the same rule replayed over the past, against what happened."""
    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        stored = scoring.first_of_each(promised.said(db))
        replayed = forecasts.replayed(db, now, tell)
    kept, again = scoring.scored(stored, today), scoring.scored(replayed, today)
    return Report(
        "calibration",
        "Forecasts against what happened",
        today,
        (
            Part(
                "stored",
                f"First forecast of each of {kept.jobs} jobs, as it was stored",
                SCORES,
                _scores(kept),
                "none of the stored dates has come yet",
            ),
            Part(
                "replayed",
                f"The same rule over {again.jobs} past jobs, knowing what was on record then",
                SCORES,
                _scores(again),
                "too few closed jobs",
            ),
        ),
        (
            "kept: the share of jobs done by the date; at least, at most: exact 95 % bounds of it.",
            f"From the 50 % to the 95 % date: {again.width_days:.1f} days on average (replayed).",
            "days ahead: how far off the date was when said; nearer is sharper.",
            f"{PLAIN}: the simpler rule, stated as if durations were normal.",
        ),
        _drawn(again if again.scores else kept),
    )


def _scores(found: Scored) -> tuple[Line, ...]:
    return tuple(
        Line((s.rule, s.stated, s.share, s.low, s.high, s.count, s.ahead_days))
        for s in found.scores
    )


def _drawn(found: Scored) -> Drawing | None:
    if not found.scores:
        return None
    bounds = [
        Curve(
            "exact 95 % bounds" if n == 0 else "",
            ((s.stated, s.low), (s.stated, s.high)),
            "|",
        )
        for n, s in enumerate(found.scores)
    ]
    ours = tuple((s.stated, s.share) for s in found.scores if s.rule != PLAIN)
    plain = tuple((s.stated, s.share) for s in found.scores if s.rule == PLAIN)
    curves = (
        Curve("as stated", ((0.0, 0.0), (1.0, 1.0)), "."),
        *bounds,
        Curve("kept", ours, "o", joined=False),
        *([Curve(f"{PLAIN} kept", plain, "x", joined=False)] if plain else []),
    )
    return Drawing("Of dates stated to hold, how many did", "stated", "kept", curves)
