"""Who and which bench is loaded this week and next, and what one more pair of hands would do."""

from dataclasses import replace

from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.rules import forecast
from shopdesk.rules.forecast import Outlook
from shopdesk.views import forecasts
from shopdesk.views.courses import Floor

ONE_MORE = 10**9  # no person's number; taken last
COLUMNS = (
    Column("who", "who", 14, share=1),
    Column("this_week_h", "this week h", 11, "hours"),
    Column("this_week", "of the week", 11, "share"),
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
    return Report(
        "load",
        "Load: this week and next",
        stands.today,
        (
            Part("people", "Hands on units by person", COLUMNS, _people(stands, outlook)),
            Part("benches", "Benches", COLUMNS, _benches(stands, outlook), "the shop names none"),
            Part(
                "one_more",
                "One more technician from today",
                (
                    Column("what", "", 34, share=1),
                    Column("now", "as it is", 12, "hours"),
                    Column("then", "one more", 12, "hours"),
                ),
                _one_more(stands, outlook),
            ),
        ),
        (
            "Mean hours of the forecast's runs: open jobs alone, new cores come on top.",
            f"A week has {stands.rules.calendar.hours_a_week:g} working hours.",
        ),
    )


def _weeks(hours: tuple[float, ...], whole: float) -> tuple[float, ...]:
    return tuple(cell for week in hours for cell in (week, week / whole))


def _people(stands: Floor, outlook: Outlook) -> tuple[Line, ...]:
    whole = stands.rules.calendar.hours_a_week
    none = (0.0,) * outlook.loads.weeks
    lines = []
    for person in (*stands.means.technicians, *stands.means.counter):
        hours = outlook.loads.person_h.get(person, none)
        jobs = sum(job.assigned_to == person for job in stands.jobs.values())
        lines.append((hours, Line((stands.names[person], *_weeks(hours, whole), jobs))))
    return tuple(line for _, line in sorted(lines, key=lambda each: -each[0][0]))


def _benches(stands: Floor, outlook: Outlook) -> tuple[Line, ...]:
    none = (0.0,) * outlook.loads.weeks
    lines = []
    for bench in stands.means.benches:
        hours = outlook.loads.bench_h.get(bench.name, none)
        whole = stands.rules.calendar.hours_a_week * bench.places
        jobs = sum(job.stage in bench.sections for job in stands.jobs.values())
        lines.append(Line((bench.name, *_weeks(hours, whole), jobs)))
    return tuple(lines)


def _one_more(stands: Floor, outlook: Outlook) -> tuple[Line, ...]:
    means = replace(stands.means, technicians=(*stands.means.technicians, ONE_MORE))
    more = forecast.outlook(
        stands.works, stands.past, means, stands.axis, stands.now_h, runs=outlook.runs
    )
    return (
        Line(("jobs expected past their promise", _late(stands, outlook), _late(stands, more))),
        Line(
            ("working hours to the finish, on average", _mean(stands, outlook), _mean(stands, more))
        ),
    )


def _late(stands: Floor, outlook: Outlook) -> float:
    return sum(
        1.0 - outlook.forecasts[number].kept(stands.axis.end_of(job.promised_on))
        for number, job in stands.jobs.items()
    )


def _mean(stands: Floor, outlook: Outlook) -> float:
    found = [f - stands.now_h for each in outlook.forecasts.values() for f in each.finishes_h]
    return sum(found) / max(1, len(found))
