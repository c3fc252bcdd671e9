"""What comes back: how often, how soon, and how a serial's readings drift between visits."""

import math
from datetime import datetime, timedelta

from shopdesk import quantities
from shopdesk.calc import life
from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput, ShopError
from shopdesk.views import documents
from shopdesk.views import drift as drifting
from shopdesk.views import quality as views
from shopdesk.views.drift import Drift
from shopdesk.views.quality import Left

LEAST_RETURNS = 3
STEPS = 40
RATES = (
    Column("of", "", 30, share=1),
    Column("rate", "came back", 9, "share"),
    Column("low", "at least", 8, "share"),
    Column("high", "at most", 7, "share"),
    Column("returned", "back", 5, "count"),
    Column("left", "left", 5, "count"),
)


def returns(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Of the newest that left; or, ``about`` "30", what came back in the last 30 days."""
    now = shop.clock()
    with shop.read() as db:
        months = documents.rules(db).warranty_months
        every = views.left(db, now)
        lots = [] if about else views.by_lot(db, every)
    if about:
        return _lately(every, about, now)
    back = sum(each.returned for each in every)
    groups = (
        ("model", "By model", [(each.model, each.returned) for each in every]),
        ("customer", "By customer", [(each.customer, each.returned) for each in every]),
        ("technician", "By technician", [(each.technician, each.returned) for each in every]),
        ("lot", "By lot", lots),
    )
    said = [f"Of {len(every)} units that left, {back} came back under warranty ({months} months)."]
    if every:
        whole = views.rate("all", back, len(every))
        said = [
            f"Of {len(every)} that left, {back} came back in {months} months: {whole.share:.1%} "
            f"({whole.low:.1%} to {whole.high:.1%})."
        ]
    said.append("Rows only where the exact 95 % bounds lie close enough to say something.")
    said.append("Those that left lately may still come: the fit allows for it, the shares do not.")
    return Report(
        "returns",
        "Returns: how often and how soon",
        now.astimezone().date(),
        (*(_rates(*group) for group in groups), _lives(every), _came(every)),
        tuple(said),
        _drawn(every),
    )


def lately(every: tuple[Left, ...], days: int, now: datetime) -> tuple[Left, ...]:
    """What came back in so many days."""
    since = now - timedelta(days)
    return tuple(each for each in every if each.returned and each.until >= since)


def _lately(every: tuple[Left, ...], about: str, now: datetime) -> Report:
    if not (about.isascii() and about.isdigit() and len(about) < 5):
        raise BadInput(f"read {about[:20]!r}; expected days: returns:30")
    back = lately(every, int(about), now)
    return Report(
        "returns",
        f"Came back in the last {about} days: {len(back)}",
        now.astimezone().date(),
        (_came(back),),
    )


def _rates(name: str, title: str, units: list[tuple[str, bool]]) -> Part:
    carried, few = views.return_rates(units)
    left_out = f" ({few} with too few to say)" if few else ""
    lines = tuple(Line((r.of_what, r.share, r.low, r.high, r.count, r.of)) for r in carried[:20])
    return Part(name, f"{title}{left_out}", RATES, lines, "too few to say anything")


def _lives(every: tuple[Left, ...]) -> Part:
    lines = []
    for model in ("", *sorted({each.model for each in every})):
        units = [each for each in every if model in ("", each.model)]
        fit = fitted(units)
        if fit is not None:
            name = model or "all models"
            back = 1.0 - life.survival(fit, 365.25)
            lines.append(Line((name, fit.shape, fit.scale, back, fit.failures, fit.running)))
    return Part(
        "life",
        "Time to return: Weibull fit, units still out counted as running",
        (
            Column("model", "model", 14, share=1),
            Column("shape", "shape", 6, "days"),
            Column("scale", "scale, days", 12, "days"),
            Column("in_a_year", "in a year", 9, "share"),
            Column("returned", "back", 5, "count"),
            Column("running", "running", 8, "count"),
        ),
        tuple(lines),
        f"fewer than {LEAST_RETURNS} returns",
    )


def fitted(units: list[Left] | tuple[Left, ...]) -> life.Weibull | None:
    """The fit, or None where there are too few returns, or all alike."""
    failed = [each.days for each in units if each.returned]
    if len(failed) < LEAST_RETURNS:
        return None
    try:
        return life.weibull_fit(failed, [each.days for each in units if not each.returned])
    except BadInput:
        return None


def _came(every: tuple[Left, ...]) -> Part:
    lines = tuple(
        Line(
            (f"J-{e.number}", e.model, e.customer, e.at, e.days, f"J-{e.return_number}"),
            e.return_number,
        )
        for e in sorted(every, key=lambda e: e.until, reverse=True)
        if e.returned
    )
    return Part(
        "units",
        "Units that came back, the newest first",
        (
            Column("job", "left as", 7),
            Column("model", "model", 8, share=1),
            Column("customer", "customer", 20, share=2),
            Column("left", "left", 10, "date"),
            Column("days", "days out", 8, "days"),
            Column("return", "back as", 8),
        ),
        lines,
    )


def _drawn(every: tuple[Left, ...]) -> Drawing | None:
    """The share that came back by days out: what was seen (Kaplan and Meier) and the fit."""
    fit = fitted(every)
    if fit is None:
        return None
    seen, alive, share = [], len(every), 1.0
    for each in sorted(every, key=lambda e: (e.days, not e.returned)):
        if each.returned:
            share *= 1.0 - 1.0 / alive
            seen.append((each.days, 1.0 - share))
        alive -= 1
    seen.append((max(each.days for each in every), 1.0 - share))
    longest = max(each.days for each in every)
    days = [longest * n / STEPS for n in range(STEPS + 1)]
    curve = tuple((day, 1.0 - life.survival(fit, day)) for day in days)
    return Drawing(
        "Share of units that came back",
        "days since they left",
        "share",
        (Curve("Weibull fit", curve), Curve("seen", tuple(seen), "o", joined=False)),
        tuple(fit.cautions),
    )


# Drift -------------------------------------------------------------------------------------------


def drift(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Readings across visits: of the serial named, else of all units that came often."""
    now = shop.clock()
    with shop.read() as db:
        found = drifting.of_serial(db, about) if about else drifting.drifts(db)
    return Report(
        "drift",
        f"Drift between visits{f': {about}' if about else ''}",
        now.astimezone().date(),
        (
            Part(
                "readings",
                "Teardown readings of units that came three times or more",
                (
                    Column("serial", "serial", 10, share=1),
                    Column("model", "model", 8, share=1),
                    Column("reading", "reading", 26, share=3),
                    Column("change", "change", 7, "share"),
                    Column("per_year", "a year", 8, "number"),
                    Column("unit", "", 5),
                    Column("visits", "visits", 6, "count"),
                ),
                tuple(_drift_line(d) for d in found[:60]),
                f"{about or 'no unit'} did not come three times yet",
            ),
        ),
        (
            "change: from the first visit to the last, of what the limit leaves open between its "
            "two ends; with no such limit, of the mean reading.",
        ),
        _drift_drawn(found[0]) if found else None,
    )


def _drift_line(of: Drift) -> Line:
    try:
        per_year, unit = of.per_year / quantities.span_to_si(1.0, of.unit), of.unit
    except ShopError:
        per_year, unit = of.per_year, "as read"
    return Line(
        (of.serial, of.model, of.line, of.change, per_year, unit, len(of.readings)),
        _drift_drawn(of),
    )


def _drift_drawn(of: Drift) -> Drawing:
    first = of.readings[0][0]
    points = []
    for at, value in of.readings:
        shown = quantities.from_si(value, of.unit) if of.unit else value
        points.append(((at - first).total_seconds() / 86400.0, shown))
    points = [point for point in points if math.isfinite(point[1])]
    return Drawing(
        f"{of.serial}: {of.line}",
        "days since the first visit",
        of.unit or "as read",
        (Curve("", tuple(points)), Curve("read", tuple(points), "o", joined=False)),
    )
