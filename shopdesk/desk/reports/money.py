"""Money: work in progress, quotes, warranty, stock and cores, month by month."""

from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.views import board, documents
from shopdesk.views import money as views
from shopdesk.views.money import Month


def money(shop: Shop, tell: Tell | None, about: str) -> Report:
    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        currency = documents.rules(db).currency
        working = views.in_work(db)
        quotes = board.quotes_open(db)
        against, jobs = views.against(db, now)
        shelf = views.shelf(db, now)
        months = views.months(db, now)
    in_work = sum(each.cost.total for each in working)
    agreed = sum(each.quoted_cents for each in working)
    return Report(
        "money",
        f"Money, in {currency}",
        today,
        (
            Part(
                "tied_up",
                "Tied up now",
                (
                    Column("what", "", 40, share=1),
                    Column("cents", currency, 12, "money"),
                    Column("count", "how many", 9, "count"),
                ),
                (
                    Line(("work in progress at cost", in_work, len(working))),
                    Line(
                        (
                            "agreed for the jobs in work",
                            agreed,
                            sum(w.quoted_cents > 0 for w in working),
                        )
                    ),
                    Line(
                        (
                            "quotes nobody has answered",
                            sum(q.total_cents for q in quotes),
                            len(quotes),
                        )
                    ),
                    Line(("stock on the shelf", shelf.stock_cents, None)),
                    Line(("of it nothing issued for a year", shelf.dead_cents, None)),
                    Line(("deposits for cores still owed", shelf.deposit_cents, shelf.deposits)),
                    Line(("exchange units ready on the shelf", None, shelf.pool_units)),
                ),
            ),
            Part(
                "against",
                f"Quote against actual by cause, {jobs} jobs of the last year",
                (
                    Column("cause", "cause", 36, share=1),
                    Column("quoted", "quoted", 10, "money"),
                    Column("actual", "actual", 10, "money"),
                    Column("over", "over", 10, "money"),
                ),
                tuple(Line((a.cause, a.quoted, a.actual, a.actual - a.quoted)) for a in against),
            ),
            Part("months", "Month by month", MONTHS, tuple(_month(m) for m in months)),
            Part(
                "quotes",
                "Quotes unanswered, the oldest first",
                (
                    Column("job", "tag", 7),
                    Column("customer", "customer", 26, share=2),
                    Column("phone", "telephone", 14, share=1),
                    Column("cents", "total", 9, "money"),
                    Column("made", "made", 9, "date"),
                ),
                tuple(
                    Line((f"J-{q.number}", q.customer, q.phone, q.total_cents, q.at), q.number)
                    for q in quotes
                ),
                "none",
            ),
            Part(
                "work",
                "Work in progress, the dearest first",
                (
                    Column("job", "tag", 7),
                    Column("stage", "stage", 12, share=1),
                    Column("parts", "parts", 9, "money"),
                    Column("labour", "labour", 9, "money"),
                    Column("outside", "outside", 9, "money"),
                    Column("agreed", "agreed", 9, "money"),
                ),
                tuple(
                    Line(
                        (
                            f"J-{w.number}",
                            w.stage,
                            w.cost.parts,
                            w.cost.labour,
                            w.cost.outside,
                            w.quoted_cents,
                        ),
                        w.number,
                    )
                    for w in working
                ),
                "no open job",
            ),
        ),
        (
            "Parts at their lots' cost; labour only as minutes were told, at the shop's rate.",
            "Exports give cents.",
        ),
        _drawn(months, currency),
    )


MONTHS = (
    Column("month", "month", 10, "month", share=1),
    Column("opened", "taken in", 8, "count"),
    Column("closed", "left", 6, "count"),
    Column("approved", "approved", 11, "money"),
    Column("warranty", "warranty cost", 13, "money"),
    Column("warranty_jobs", "warranty jobs", 13, "count"),
)


def _month(of: Month) -> Line:
    return Line(
        (of.month, of.opened, of.closed, of.approved_cents, of.warranty_cents, of.warranty_jobs)
    )


def _drawn(months: tuple[Month, ...], currency: str) -> Drawing:
    def points(cents: list[int]) -> tuple[tuple[float, float], ...]:
        last = len(cents) - 1
        return tuple((float(n - last), each / 100.0) for n, each in enumerate(cents))

    return Drawing(
        "Approved quotes and warranty cost",
        "months from this one",
        currency,
        (
            Curve("approved", points([m.approved_cents for m in months]), "o"),
            Curve("warranty cost", points([m.warranty_cents for m in months]), "x"),
        ),
    )
