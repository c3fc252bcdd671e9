"""Who and which bench is loaded this week and next, and what one more pair of hands would do."""

from dataclasses import replace

from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.rules import forecast
from shopdesk.rules.forecast import Loads, Outlook
from shopdesk.views import forecasts
from shopdesk.views.courses import Floor

ONE_MORE = 10**9  # no person's number; taken last
COLUMNS = (
    Column("who", "who", 14, share=1),
    Column("this_week_h", "this week h", 11, "hours"),
    Column("this_week", "of its rest", 11, "share"),
    Column("next_week_h", "next week h", 11, "hours"),
    Column("next_week", "of the week", 11, "share"),
    Column("jobs", "jobs in hand", 12, "count"),
)


def load(shop: Shop, tell: Tell | None, about: str) -> Report:
    with shop.read() as db:
        told = forecasts.promises(db, shop.clock(), tell)
    stands, outlook = told.floor, told.outlook
    if outlook is None:
        said = ("Too few jobs have been closed yet to forecast from.",)
        return Report("load", "Load: this week and next", stands.today, (), said)
    people = _people(stands, outlook)
    return Report(
        "load",
        "Load: this week and next",
        stands.today,
        (
            Part("people", "Hands on units by person", COLUMNS, people),
            Part("benches", "Benches", COLUMNS, _benches(stands, outlook), "the shop names none"),
            Part(
                "one_more",
                "One more technician from today",
                (
                    Column("what", "", 34, share=1),
                    Column("now", "as it is", 9, "hours"),
                    Column("then", "one more", 9, "hours"),
                    Column("shared", "jobs shared", 11, "hours"),
                ),
                _one_more(stands, outlook),
            ),
        ),
        (
            "Mean hours of the forecast's runs: open jobs alone, new cores come on top.",
            f"This week has {outlook.loads.open_h[0]:.1f} working hours left, the next has "
            f"{outlook.loads.open_h[1]:.1f}.",
            "One more takes what is nobody's yet; jobs shared: anybody's job besides.",
        ),
        _drawn(people),
    )


def _weeks(hours: tuple[float, ...], loads: Loads, places: int = 1) -> tuple[float | None, ...]:
    whole = [open_h * places for open_h in loads.open_h]
    return tuple(
        cell
        for week, of in zip(hours, whole, strict=True)
        for cell in (week, week / of if of else None)
    )


def _drawn(people: tuple[Line, ...]) -> Drawing | None:
    """A bar for this week, a sign for the next."""
    if not people:
        return None
    up = [float(len(people) - n) for n in range(len(people))]
    hours = [[float(str(line.cells[n])) for line in people] for n in (1, 3)]
    bars = tuple(
        Curve("this week" if n == 0 else "", ((0.0, y), (this, y)), "#")
        for n, (y, this) in enumerate(zip(up, hours[0], strict=True))
    )
    after = Curve("next week", tuple(zip(hours[1], up, strict=True)), "o", joined=False)
    names = tuple((y, str(line.cells[0])) for y, line in zip(up, people, strict=True))
    return Drawing("Hands on units", "hours", "who", (*bars, after), names=names)


def _people(stands: Floor, outlook: Outlook) -> tuple[Line, ...]:
    none = (0.0,) * len(outlook.loads.open_h)
    lines = []
    for person in (*stands.means.technicians, *stands.means.counter):
        hours = outlook.loads.person_h.get(person, none)
        jobs = sum(job.assigned_to == person for job in stands.jobs.values())
        lines.append((hours, Line((stands.names[person], *_weeks(hours, outlook.loads), jobs))))
    return tuple(line for _, line in sorted(lines, key=lambda each: -each[0][0]))


def _benches(stands: Floor, outlook: Outlook) -> tuple[Line, ...]:
    none = (0.0,) * len(outlook.loads.open_h)
    lines = []
    for bench in stands.means.benches:
        hours = outlook.loads.bench_h.get(bench.name, none)
        jobs = sum(job.stage in bench.sections for job in stands.jobs.values())
        lines.append(Line((bench.name, *_weeks(hours, outlook.loads, bench.places), jobs)))
    return tuple(lines)


def _one_more(stands: Floor, outlook: Outlook) -> tuple[Line, ...]:
    means = replace(stands.means, technicians=(*stands.means.technicians, ONE_MORE))
    anybodys = tuple(replace(work, person=None) for work in stands.works)
    each = [outlook] + [
        forecast.outlook(works, stands.past, means, stands.axis, stands.now_h, runs=outlook.runs)
        for works in (stands.works, anybodys)
    ]
    return (
        Line(("jobs expected past their promise", *(_late(stands, one) for one in each))),
        Line(("working hours to the finish, on average", *(_mean(stands, one) for one in each))),
    )


def _late(stands: Floor, outlook: Outlook) -> float:
    return sum(
        1.0 - outlook.forecasts[number].kept(stands.axis.end_of(job.promised_on))
        for number, job in stands.jobs.items()
    )


def _mean(stands: Floor, outlook: Outlook) -> float:
    found = [f - stands.now_h for each in outlook.forecasts.values() for f in each.finishes_h]
    return sum(found) / max(1, len(found))
