"""What a job cost, from what the record knows, and where that differs from its quote."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from shopdesk.rules.shop import Labour

MARGIN = "margin"


@dataclass(frozen=True, slots=True)
class Stamp:
    """An answer: on which job, in which section, after how many minutes since the same person's
    last one on any job."""

    job: int
    section: str
    after_min: float
    rework: bool = False


@dataclass(frozen=True, slots=True)
class Used:
    """Pieces of a part a job took, net of what came back, at what their lots cost; ``by``: the
    other part that stood in for it."""

    part: str
    pieces: int
    cents: int
    rework: bool = False
    by: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """A cost somebody recorded: ``minutes`` for labour, ``cents`` for all else."""

    kind: str
    section: str
    minutes: int
    cents: int
    rework: bool = False


@dataclass(frozen=True, slots=True)
class Quoted:
    """One line of the quote as it was answered; ``quantity`` pieces or hours."""

    kind: str
    name: str
    quantity: float
    cents: int


@dataclass(frozen=True, slots=True)
class CostLine:
    """One thing of a job as quoted and as it came, in cents, and why they differ."""

    cause: str
    name: str
    quoted_cents: int
    actual_cents: int
    why: str

    @property
    def more_cents(self) -> int:
        return self.actual_cents - self.quoted_cents


def worked(stamps: Iterable[Stamp], longest_gap_min: float) -> dict[tuple[int, str, bool], float]:
    """Minutes by (job, section, rework): before each answer, the time since the same person's
    last one; a gap longer than the longest says nothing and counts nothing. Common practice where
    nobody stops a clock; hours somebody records stand above it."""
    minutes: dict[tuple[int, str, bool], float] = defaultdict(float)
    for stamp in stamps:
        if stamp.after_min <= longest_gap_min:
            minutes[stamp.job, stamp.section, stamp.rework] += stamp.after_min
    return dict(minutes)


def against_quote(
    quoted: Sequence[Quoted],
    used: Sequence[Used],
    told: Sequence[Told],
    seen_min: Mapping[tuple[str, bool], float],
    labour: Labour,
) -> tuple[CostLine, ...]:
    """The job line by line. ``seen_min``: minutes by (section, rework) as ``worked`` gives them;
    a section with recorded hours is taken from those alone. Handling margin is no cost."""
    lines = _parts([q for q in quoted if q.kind == "part"], [u for u in used if not u.rework])
    lines += _labour([q for q in quoted if q.kind == "labour"], told, seen_min, labour, False)
    for kind in ("outside", "freight"):
        was = sum(q.cents for q in quoted if q.kind == kind)
        paid = sum(t.cents for t in told if t.kind == kind and not t.rework)
        if was or paid:
            lines.append(CostLine(kind, kind, was, paid, "" if was else "not quoted"))
    fee = sum(q.cents for q in quoted if q.kind not in ("part", "labour", "outside", MARGIN))
    if fee:
        lines.append(CostLine("fee", "fee", fee, 0, "charged, costs nothing of its own"))
    return (*lines, *_rework(used, told, seen_min, labour))


def by_cause(lines: Sequence[CostLine]) -> tuple[tuple[str, int], ...]:
    """What each cause made dearer (negative: cheaper) than quoted, in cents; together they are
    the whole difference."""
    more: dict[str, int] = defaultdict(int)
    for line in lines:
        more[line.cause] += line.more_cents
    return tuple((cause, cents) for cause, cents in more.items() if cents)


def _parts(quoted: Sequence[Quoted], used: Sequence[Used]) -> list[CostLine]:
    """A part's difference divided: more pieces at the quoted price, then the lots' own price, or
    that of what stood in for it."""
    lines: list[CostLine] = []
    was, took, others = _sums(quoted), _used(used), _stood_in(used)
    for part in dict.fromkeys((*was, *took)):
        pieces, cents = took.get(part, (0, 0))
        if part not in was:
            lines.append(CostLine("not quoted", part, 0, cents, f"{pieces} used, none quoted"))
            continue
        cause, why_price = "lot price", "the lot's own price"
        if part in others:
            cause, why_price = "interchange", f"{others[part]} stood in"
        quoted_pieces, quoted_cents = was[part]
        at_quoted = round(quoted_cents * pieces / quoted_pieces) if quoted_pieces else 0
        if not cents - at_quoted:
            why = "" if pieces == quoted_pieces else f"{pieces} used, {quoted_pieces:g} quoted"
            lines.append(CostLine("pieces", part, quoted_cents, cents, why))
        elif pieces == quoted_pieces:
            lines.append(CostLine(cause, part, quoted_cents, cents, why_price))
        else:
            why = f"{pieces} used, {quoted_pieces:g} quoted"
            lines.append(CostLine("pieces", part, quoted_cents, at_quoted, why))
            lines.append(CostLine(cause, part, 0, cents - at_quoted, why_price))
    return lines


def _stood_in(used: Sequence[Used]) -> dict[str, str]:
    """ "2 SEAL-V90" by the part asked."""
    pieces: dict[tuple[str, str], int] = defaultdict(int)
    for use in used:
        if use.by:
            pieces[use.part, use.by] += use.pieces
    said: dict[str, list[str]] = defaultdict(list)
    for (part, by), count in pieces.items():
        if count > 0:
            said[part].append(f"{count} {by}")
    return {part: ", ".join(each) for part, each in said.items()}


def _sums(quoted: Sequence[Quoted]) -> dict[str, tuple[float, int]]:
    sums: dict[str, tuple[float, int]] = {}
    for line in quoted:
        pieces, cents = sums.get(line.name, (0.0, 0))
        sums[line.name] = (pieces + line.quantity, cents + line.cents)
    return sums


def _used(used: Sequence[Used]) -> dict[str, tuple[int, int]]:
    sums: dict[str, tuple[int, int]] = {}
    for use in used:
        pieces, cents = sums.get(use.part, (0, 0))
        sums[use.part] = (pieces + use.pieces, cents + use.cents)
    return sums


def _labour(
    quoted: Sequence[Quoted],
    told: Sequence[Told],
    seen_min: Mapping[tuple[str, bool], float],
    labour: Labour,
    rework: bool,
) -> list[CostLine]:
    recorded: dict[str, int] = defaultdict(int)
    for one in told:
        if one.kind == "labour" and one.rework is rework:
            recorded[one.section] += one.minutes
    seen = {section: minutes for (section, again), minutes in seen_min.items() if again is rework}
    was = _sums(quoted)
    lines = []
    for section in dict.fromkeys((*was, *seen, *recorded)):
        minutes = recorded.get(section, seen.get(section, 0.0))
        cents = round(labour.cents_in(section) * minutes / 60)
        hours, quoted_cents = was.get(section, (0.0, 0))
        source = "recorded" if section in recorded else "by the answers' times"
        asked = "" if rework else f" for {hours:.1f}"
        why = f"{minutes / 60:.1f}{asked} h, {source}"
        if cents or quoted_cents:
            cause = "rework" if rework else "hours"
            lines.append(CostLine(cause, f"labour {section}", quoted_cents, cents, why))
    return lines


def _rework(
    used: Sequence[Used],
    told: Sequence[Told],
    seen_min: Mapping[tuple[str, bool], float],
    labour: Labour,
) -> list[CostLine]:
    took = _used([use for use in used if use.rework])
    lines = [
        CostLine("rework", part, 0, cents, f"{pieces} used again")
        for part, (pieces, cents) in took.items()
    ]
    lines += _labour((), told, seen_min, labour, True)
    lines += [
        CostLine("rework", one.kind, 0, one.cents, "recorded")
        for one in told
        if one.rework and one.kind != "labour"
    ]
    return lines
