"""Quality at the bench: what passes at first, what is done over, what is found."""

from collections.abc import Sequence
from itertools import accumulate

from shopdesk.desk.calculator.curves import Curve, Drawing
from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.rules.claims import COVERS
from shopdesk.views import decided
from shopdesk.views import quality as views
from shopdesk.views.decided import Decided

MOST = 25
MOST_CAUSES, MOST_DRAWN = 20, 10
NAME = 32  # cells of a cause beside its bar
CAUSES = (
    Column("cause", "cause", 44, share=1),
    Column("count", "times", 6, "count"),
    Column("share", "share", 6, "share"),
    Column("so_far", "so far", 7, "share"),
)
CLAIMS = (
    Column("cause", "cause found", 30, share=1),
    Column("claims", "claims", 6, "count"),
    Column("covered", "covered", 7, "count"),
    Column("goodwill", "goodwill", 8, "count"),
    Column("not_covered", "not cov.", 8, "count"),
    Column("cost", "cost", 8, "money"),
)
YIELDS = (
    Column("model", "model", 8, share=1),
    Column("test", "test", 30, share=3),
    Column("passed", "passed at first", 15, "share"),
    Column("low", "at least", 8, "share"),
    Column("jobs", "jobs", 5, "count"),
)


def quality(shop: Shop, tell: Tell | None, about: str) -> Report:
    now = shop.clock()
    with shop.read() as db:
        found = views.entries(db)
        claims = decided.newest(db)
    findings = _pareto("findings", "What was found worn or broken", found.findings)
    failing = [y for y in found.yields if y.rate.count < y.rate.of]
    return Report(
        "quality",
        "Quality: first-pass yield, rework, findings",
        now.astimezone().date(),
        (
            _pareto("rework", "Why work was done over", found.rework),
            Part(
                "yield",
                "First-pass yield per test and model, the worst first",
                YIELDS,
                tuple(
                    Line((y.model, y.line, y.rate.share, y.rate.low, y.rate.of))
                    for y in found.yields[:MOST]
                ),
                "no test on record",
            ),
            findings,
            _pareto("complaints", "What came back for", found.complaints),
            Part(
                "claims",
                "Why it came back, by what it cost the shop",
                CLAIMS,
                _claims(claims),
                "no claim was decided yet",
            ),
        ),
        (
            f"Of the newest {found.jobs} closed jobs; at least: the exact 95 % lower bound.",
            f"{len(failing)} of {len(found.yields)} tests failed at first at least once.",
        ),
        _drawn(findings.title, found.findings),
    )


def _claims(claims: Sequence[Decided]) -> tuple[Line, ...]:
    """By cause, the dearest for the shop first."""
    rows: list[tuple[str, int, int, int, int, int]] = []
    for cause in {claim.cause for claim in claims}:
        of = [claim for claim in claims if claim.cause == cause]
        covers = [claim.cover for claim in of]
        covered, refused, goodwill = (covers.count(word) for word in COVERS)
        cents = sum(claim.cents for claim in of)
        rows.append((cause, len(of), covered, goodwill, refused, cents))
    rows.sort(key=lambda row: (-row[5], -row[1], row[0]))
    return tuple(Line(row) for row in rows)


Causes = tuple[tuple[str, int], ...]


def _pareto(name: str, title: str, causes: Causes) -> Part:
    """The commonest causes, their shares of all; each opens the drawing."""
    whole = sum(count for _, count in causes) or 1
    drawing = _drawn(title, causes)
    lines, so_far = [], 0
    for cause, count in causes[:MOST_CAUSES]:
        so_far += count
        lines.append(Line((cause, count, count / whole, so_far / whole), drawing))
    return Part(name, title, CAUSES, tuple(lines))


def _drawn(title: str, causes: Causes) -> Drawing | None:
    if not causes:
        return None
    top = causes[:MOST_DRAWN]
    up = [float(len(top) - n) for n in range(len(top))]
    bars = tuple(
        Curve("times" if n == 0 else "", ((0.0, y), (float(count), y)), "#")
        for n, ((_, count), y) in enumerate(zip(top, up, strict=True))
    )
    so_far = tuple(zip(accumulate(float(count) for _, count in top), up, strict=True))
    every = sum(count for _, count in causes)
    names = tuple((y, _short(cause)) for (cause, _), y in zip(top, up, strict=True))
    return Drawing(
        f"{title}: {len(top)} of {len(causes)} causes",
        f"times, of {every} in all",
        "cause",
        (*bars, Curve("with those above it", so_far, "o", joined=False)),
        names=names,
    )


def _short(cause: str) -> str:
    return cause if len(cause) <= NAME else f"{cause[: NAME - 1]}…"
