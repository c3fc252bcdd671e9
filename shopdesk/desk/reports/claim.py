"""A claim beside the job it is on: what was found, then and now, and what was decided."""

from shopdesk.desk.reports.made import Column, Line, Part, Report, Tell
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput
from shopdesk.rules.shop import money
from shopdesk.views import comparing
from shopdesk.views.comparing import Compared, Pair

READINGS = (
    Column("reading", "reading", 17, share=3),
    Column("before", "then", 10, share=1),
    Column("now", "now", 10, share=1),
    Column("by", "apart", 17, share=1),
    Column("share", "of it", 5, "share"),
    Column("judged", "judged", 12),
)
TAKEN = (
    Column("reading", "reading", 18, share=3),
    Column("limit", "limit", 20, share=2),
    Column("tool_before", "then with", 9, share=1),
    Column("who_before", "by", 3),
    Column("tool_now", "now with", 9, share=1),
    Column("who_now", "by", 3),
)
TORQUES = (
    Column("joint", "joint", 20, share=3),
    Column("before", "then", 10, share=1),
    Column("tool_before", "with", 5),
    Column("who_before", "by", 3),
    Column("now", "now", 10, share=1),
    Column("tool_now", "with", 5),
    Column("who_now", "by", 3),
    Column("judged", "judged", 12, share=1),
)
LOTS = (
    Column("part", "part", 13, share=1),
    Column("position", "where", 13, share=2),
    Column("before", "lot then", 11, share=1),
    Column("cured", "cured", 7),
    Column("now", "lot now", 11, share=1),
    Column("elsewhere", "in others out", 13, "count"),
)
TOOLS = (
    Column("tool", "tool", 6),
    Column("kind", "", 18, share=2),
    Column("before", "then", 5),
    Column("now", "now", 5),
    Column("due", "due", 10, "date"),
    Column("doubt", "last check", 20, share=2),
)
PEOPLE = (
    Column("section", "section", 10),
    Column("before", "then", 26, share=1),
    Column("now", "now", 26, share=1),
)


def claim(shop: Shop, tell: Tell | None, about: str) -> Report:
    number = about.strip().upper().removeprefix("J-")
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        raise BadInput(f"read {about[:20]!r}; expected a claim's tag: claim:J-1047")
    now = shop.clock()
    with shop.read() as db:
        found = comparing.compared(db, int(number), now)
    return Report(
        f"claim:{found.job}",
        f"Claim J-{found.job} on J-{found.earlier}",
        now.astimezone().date(),
        (
            Part(
                "readings",
                _title(found),
                READINGS,
                tuple(_reading(pair, found) for pair in found.readings),
            ),
            Part(
                "torques",
                "Joints",
                TORQUES,
                tuple(_torque(pair, found) for pair in found.torques),
                "no torque on the earlier sheet",
            ),
            Part(
                "lots",
                "Lots it left with; Enter: every unit that has pieces of it",
                LOTS,
                tuple(
                    Line(
                        (o.part, o.position, o.before, o.cured, o.now or "-", o.elsewhere),
                        f"recall:lot:{o.before}",
                    )
                    for o in found.lots
                ),
                "nothing was fitted",
            ),
            Part(
                "taken",
                "The readings' limits, with what and by whom they were taken",
                TAKEN,
                tuple(
                    Line((r.label, r.limit, r.tool_before, r.who_before, r.tool_now, r.who_now))
                    for r in found.readings
                ),
            ),
            Part(
                "tools",
                "Tools; Enter: what they were used on",
                TOOLS,
                tuple(
                    Line(
                        (
                            t.code,
                            t.kind,
                            "used" if t.before else "",
                            "used" if t.now else "",
                            t.due,
                            t.doubt,
                        ),
                        f"suspect:{t.code}" if t.doubt else f"recall:tool:{t.code}",
                    )
                    for t in found.tools
                ),
            ),
            Part(
                "people",
                "People",
                PEOPLE,
                tuple(Line((h.section, h.before or "-", h.now or "-")) for h in found.people),
            ),
        ),
        _said(found),
    )


def _title(found: Compared) -> str:
    code = f", certificate {found.code}" if found.code else ""
    left = f"{found.left_at.astimezone():%Y-%m-%d}"
    return f"Then: J-{found.earlier}{code}, left {left}. Now: as it came"


def _reading(pair: Pair, found: Compared) -> Line:
    cells = (pair.label, pair.before, pair.now or "-", pair.by, pair.share, pair.judged)
    return Line(cells, found.earlier)


def _torque(pair: Pair, found: Compared) -> Line:
    cells = (
        pair.label,
        pair.before,
        pair.tool_before,
        pair.who_before,
        pair.now or "-",
        pair.tool_now,
        pair.who_now,
        pair.judged,
    )
    return Line(cells, found.earlier)


def _said(found: Compared) -> tuple[str, ...]:
    who = f"{found.model} {found.serial}, {found.customer}: {found.complaint}."
    return (who, *found.service, _decision(found))


def _decision(found: Compared) -> str:
    cost = money(found.cents, found.currency)
    if not found.decided_by:
        return f"Not decided yet; {cost} spent on it so far."
    bears = "the shop bears" if found.borne else "the customer is quoted; it cost"
    why = found.why[:1].upper() + found.why[1:].rstrip(".")
    return (
        f"{found.cover.capitalize()}: {found.cause}. {why}. "
        f"Decided by {found.decided_by}; {bears} {cost}."
    )
