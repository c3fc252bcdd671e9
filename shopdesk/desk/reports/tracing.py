"""Whom to call: what a failed instrument puts in doubt, and where a lot, tool, person went."""

from shopdesk import quantities
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.rules.doubts import Doubt, read_wrong
from shopdesk.views import instruments, recalls

DOUBTS = (
    Column("job", "job", 6),
    Column("joint", "joint", 14, share=3),
    Column("pressure", "press", 5),
    Column("recorded", "recorded", 9),
    Column("corrected", "in truth", 9),
    Column("direction", "it is", 11),
    Column("customer", "customer", 7, share=2),
    Column("shipped_on", "shipped", 9, "date"),
)
MORE = (
    Column("serial", "serial", 10),
    Column("model", "model", 8),
    Column("phone", "telephone", 12),
    Column("taken_on", "taken", 9, "date"),
    Column("entry", "entry", 6, "count"),
)
UNITS = (
    Column("job", "job", 6),
    Column("serial", "serial", 11, share=1),
    Column("model", "model", 8, share=1),
    Column("customer", "customer", 15, share=3),
    Column("left_on", "left", 9, "date"),
    Column("why", "why", 17, share=3),
)
CUSTOMERS = (
    Column("customer", "customer to call", 28, share=3),
    Column("phone", "telephone", 16, share=1),
    Column("units", "units left", 10, "count"),
)


def suspect(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Every joint and reading in doubt, pressure-holding joints first."""
    now = shop.clock()
    with shop.read() as db:
        seen = instruments.suspect(db, about)
    return Report(
        f"suspect:{seen.code}",
        f"In doubt after the failed check of {seen.code}",
        now.astimezone().date(),
        (
            Part(
                "doubts",
                "Pressure-holding joints first",
                DOUBTS,
                tuple(_line(doubt) for doubt in seen.doubts),
                "no reading is in doubt",
            ),
            Part(
                "units",
                "The same lines: whose unit, when, which entry",
                (Column("job", "job", 6), *MORE),
                tuple(
                    Line(
                        (
                            f"J-{d.job}",
                            d.serial,
                            d.model,
                            d.phone,
                            d.taken_on,
                            d.entry_id,
                        ),
                        d.job,
                    )
                    for d in seen.doubts
                ),
            ),
        ),
        _said(seen),
    )


def _said(seen: instruments.Suspect) -> tuple[str, ...]:
    what = f"{seen.code} {seen.description}"
    if seen.failed_at is None:
        return (f"{what}: has not failed a check.",)
    last = "never" if seen.good_at is None else f"{seen.good_at.astimezone():%Y-%m-%d}"
    failed = f"{seen.failed_at.astimezone():%Y-%m-%d}"
    jobs = len({doubt.job for doubt in seen.doubts})
    holding = sum(doubt.holds_pressure is True for doubt in seen.doubts)
    told = (
        f"{what}: {read_wrong(seen.error_share)} on {failed}, last good {last}.",
        f"{jobs} jobs in doubt, {holding} pressure-holding joints.",
    )
    if not seen.error_share:
        return (*told, "By how much it was out is not known: no corrected values.")
    way = "looser" if seen.error_share > 0 else "tighter"
    return (*told, f"Joints are {way} than recorded: in truth = recorded / {_divisor(seen)}.")


def _divisor(seen: instruments.Suspect) -> str:
    return f"{1 + (seen.error_share or 0.0):.4g}"


def _line(doubt: Doubt) -> Line:
    true = "not known"
    if doubt.corrected_si is not None:
        true = quantities.text(doubt.corrected_si, doubt.unit)
    holds = {True: "holds", False: "no", None: "-"}[doubt.holds_pressure]
    return Line(
        (
            f"J-{doubt.job}",
            doubt.joint,
            holds,
            quantities.text(doubt.recorded_si, doubt.unit),
            true,
            doubt.direction + (", OUT" if doubt.judged == "outside" else ""),
            doubt.customer,
            doubt.shipped_on,
        ),
        doubt.job,
    )


def recall(shop: Shop, tell: Tell | None, about: str) -> Report:
    """Units and customers behind a lot, tool, procedure revision, person or period."""
    kind, _, value = about.partition(":")
    now = shop.clock()
    with shop.read() as db:
        found = recalls.units(db, kind, value)
    left = [unit for unit in found if unit.left_on is not None]
    customers: dict[tuple[str, str], int] = {}
    for unit in left:
        key = unit.customer, unit.phone
        customers[key] = customers.get(key, 0) + 1
    return Report(
        f"recall:{kind}:{value}",
        f"Recall: {kind} {value}",
        now.astimezone().date(),
        (
            Part(
                "units",
                "Units, those that left first",
                UNITS,
                tuple(
                    Line(
                        (f"J-{u.job}", u.serial, u.model, u.customer, u.left_on, u.why),
                        u.job,
                    )
                    for u in found
                ),
                "no unit",
            ),
            Part(
                "customers",
                "Customers to call",
                CUSTOMERS,
                tuple(
                    Line((name, phone or "not known", count))
                    for (name, phone), count in sorted(customers.items())
                ),
                "no unit left the house",
            ),
        ),
        (
            f"{len(found)} jobs, {len(left)} of their units left the house, "
            f"{len(customers)} customers to call.",
        ),
    )
