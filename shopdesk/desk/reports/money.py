"""Money: work in progress, quotes, warranty, stock and cores, month by month."""

from collections.abc import Sequence
from dataclasses import replace

from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput
from shopdesk.rules.claims import COVERS
from shopdesk.rules.shop import money as in_words
from shopdesk.views import board, costs, decided, documents, monthends
from shopdesk.views import money as views
from shopdesk.views.board import QuoteRow
from shopdesk.views.costs import InWork
from shopdesk.views.decided import Decided
from shopdesk.views.money import Month


def money(shop: Shop, tell: Tell | None, about: str) -> Report:
    """All of it, or the part it is ``about``. Raises BadInput for a part there is not."""
    whole = _money(shop)
    if not about:
        return whole
    parts = tuple(part for part in whole.parts if part.name == about)
    if not parts:
        there = ", ".join(part.name for part in whole.parts)
        raise BadInput(f"money has no part {about[:30]!r}; there are: {there}")
    return replace(whole, parts=parts)


def _money(shop: Shop) -> Report:
    now = shop.clock()
    today = now.astimezone().date()
    with shop.read() as db:
        currency = documents.rules(db).currency
        working = costs.in_work(db)
        quotes = board.quotes_open(db)
        against, jobs = views.against(db)
        months = views.months(db, now)
        tied_up = monthends.tied_up(db, monthends.ends(now, [each.month for each in months]))
        claims = decided.newest(db)
        tied = [
            *(Line((p.what, p.cents, p.count, p.note)) for p in costs.position(db, today)),
            Line(("stock nothing was issued of", views.still(db, now), None, "for a year")),
            Line(("exchange units ready", None, views.pool(db), "on the shelf")),
        ]
    asked = sum(quote.total_cents for quote in quotes)
    agreed = [each for each in working if each.quoted_cents]
    tied[:0] = [
        Line(("quotes nobody has answered", asked, len(quotes), "")),
        Line(("quoted for open jobs", sum(w.quoted_cents for w in agreed), len(agreed), "")),
    ]
    return Report(
        "money",
        f"Money, in {currency}",
        today,
        (
            Part("tied_up", "Where it lies now; what is owed is negative", TIED, tuple(tied)),
            Part(
                "against",
                f"Quote against actual by cause, the newest {jobs} closed jobs",
                AGAINST,
                tuple(Line((a.cause, a.quoted, a.actual, a.actual - a.quoted)) for a in against),
            ),
            Part("months", "Month by month", MONTHS, tuple(_month(m) for m in months)),
            Part(
                "ends",
                "Tied up at the end of each month; of this one, today",
                ENDS,
                tuple(
                    Line((month.month, end.stock, end.work, end.quotes, end.deposits))
                    for month, end in zip(months, tied_up, strict=True)
                ),
            ),
            Part("claims", "Claims by who bears them", CLAIMS, _claims(claims), "none"),
            Part(
                "quotes",
                f"Quotes unanswered: {in_words(asked, currency)}",
                QUOTES,
                _quotes(quotes),
                "none",
            ),
            Part(
                "work",
                "Work in progress, the dearest first: "
                f"{in_words(sum(w.cost_cents for w in working), currency)}",
                WORK,
                _work(working),
                "none",
            ),
        ),
        (
            "Parts at their lots' cost, labour at the shop's rate. Warranty: claims covered or "
            "goodwill, and units called back.",
        ),
        _drawn(months, currency),
    )


TIED = (
    Column("what", "", 30, share=1),
    Column("cents", "amount", 10, "money"),
    Column("count", "count", 6, "count"),
    Column("note", "", 26, share=1),
)
AGAINST = (
    Column("cause", "cause", 36, share=1),
    Column("quoted", "quoted", 10, "money"),
    Column("actual", "actual", 10, "money"),
    Column("over", "over", 10, "money"),
)
QUOTES = (
    Column("job", "tag", 7),
    Column("customer", "customer", 26, share=2),
    Column("phone", "telephone", 14, share=1),
    Column("cents", "total", 9, "money"),
    Column("made", "made", 9, "date"),
)
WORK = (
    Column("job", "tag", 7),
    Column("model", "model", 7, share=1),
    Column("stage", "stage", 10, share=1),
    Column("parts", "parts", 8, "money"),
    Column("labour", "labour", 8, "money"),
    Column("other", "other", 8, "money"),
    Column("cost", "so far", 8, "money"),
    Column("quoted", "quoted", 8, "money"),
)
CLAIMS = (
    Column("decided", "decided", 30, share=1),
    Column("claims", "claims", 6, "count"),
    Column("cost", "cost to the shop", 16, "money"),
)
MONTHS = (
    Column("month", "month", 10, "month", share=1),
    Column("opened", "taken in", 8, "count"),
    Column("closed", "left", 6, "count"),
    Column("approved", "approved", 11, "money"),
    Column("warranty", "warranty cost", 13, "money"),
    Column("warranty_jobs", "warranty jobs", 13, "count"),
)

ENDS = (
    Column("month", "month", 10, "month", share=1),
    Column("stock", "stock", 11, "money"),
    Column("work", "in work", 11, "money"),
    Column("quotes", "unanswered", 11, "money"),
    Column("deposits", "cores out", 10, "money"),
)


def _quotes(quotes: Sequence[QuoteRow]) -> tuple[Line, ...]:
    return tuple(
        Line((f"J-{q.number}", q.customer, q.phone, q.total_cents, q.at), q.number) for q in quotes
    )


def _work(working: Sequence[InWork]) -> tuple[Line, ...]:
    return tuple(
        Line(
            (
                w.job,
                w.model,
                w.stage,
                w.parts_cents,
                w.labour_cents,
                w.other_cents,
                w.cost_cents,
                w.quoted_cents,
            ),
            int(w.job.removeprefix("J-")),
        )
        for w in working
    )


def _claims(claims: Sequence[Decided]) -> tuple[Line, ...]:
    covers = [cover for cover in COVERS if any(claim.cover == cover for claim in claims)]
    return tuple(
        Line((cover, len(of), sum(claim.cents for claim in of)))
        for cover in covers
        for of in [[claim for claim in claims if claim.cover == cover]]
    )


def _month(of: Month) -> Line:
    return Line(
        (of.month, of.opened, of.closed, of.approved_cents, of.warranty_cents, of.warranty_jobs)
    )


def _drawn(months: tuple[Month, ...], currency: str) -> Drawing:
    """A bar of what was approved and a sign for warranty cost, a month a line, the newest below."""
    up = [float(len(months) - n) for n in range(len(months))]
    bars = tuple(
        Curve("approved" if n == 0 else "", ((0.0, y), (month.approved_cents / 100.0, y)), "#")
        for n, (month, y) in enumerate(zip(months, up, strict=True))
    )
    warranty = tuple((month.warranty_cents / 100.0, y) for month, y in zip(months, up, strict=True))
    return Drawing(
        "Approved quotes and warranty cost",
        currency,
        "month",
        (*bars, Curve("warranty cost", warranty, "x", joined=False)),
        names=tuple((y, f"{m.month:%b %Y}") for m, y in zip(months, up, strict=True)),
    )
