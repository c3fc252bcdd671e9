"""Lots as the shelf has them, and what a scanned lot number is."""

from collections.abc import Callable, Collection
from typing import Any

from sqlalchemy import Connection, Row, Select, bindparam, case, select
from sqlalchemy.orm import aliased

from shopdesk.errors import NotFound
from shopdesk.records.tables import Job, Lot, Part, Unit, UnitModel
from shopdesk.rules.generated import Issue, issue_key
from shopdesk.rules.kits import LotState, issued_as
from shopdesk.rules.ledger import origin_said
from shopdesk.rules.matched import LONGEST_SET
from shopdesk.rules.sheet import Sheet
from shopdesk.views import usable

FROM = aliased(Job)  # whose customer brought the lot, or out of whose unit it came
ORIGIN = (
    Lot.origin,
    FROM.number.label("from_job"),
    Lot.grade.label("used_grade"),
    UnitModel.code.label("from_model"),
    Unit.serial.label("from_serial"),
)
"""Where a lot comes from: the columns of ``with_origin``."""
_ASIDE = frozenset({"from_job", "used_grade", "from_model", "from_serial"})
BIN = case((Lot.bin != "", Lot.bin), else_=Part.bin)
"""Where a lot lies: in a bin of its own, else in its part's."""
OF_SET = case((Lot.set_broken, Lot.set_number + ", broken"), else_=Lot.set_number).label(
    "matched_set"
)
"""The matched set a lot is a mate of; "" for none."""


def with_origin(asked: Select[*tuple[Any, ...]]) -> Select[*tuple[Any, ...]]:
    """A question of lots that has these columns too, after its own."""
    return (
        asked.add_columns(*ORIGIN)
        .outerjoin(FROM, FROM.id == Lot.job_id)
        .outerjoin(Unit, Unit.id == FROM.unit_id)
        .outerjoin(UnitModel, UnitModel.id == Unit.unit_model_id)
    )


def said(row: Row[*tuple[Any, ...]]) -> str:
    """Where the lot of a row with ORIGIN comes from, in words; "" where the shop bought it."""
    values = row._mapping
    return origin_said(
        values["origin"],
        values["from_job"],
        values["used_grade"],
        f"{values['from_model']} serial {values['from_serial']}",
    )


def told(row: Row[*tuple[Any, ...]]) -> dict[str, Any]:
    """The columns of a row with ORIGIN, that in words."""
    kept = {name: value for name, value in row._mapping.items() if name not in _ASIDE}
    return {**kept, "origin": said(row)}


_LOT = (
    select(
        Lot.id,
        Part.number.label("part"),
        Lot.number,
        Lot.on_hand,
        Lot.use_by,
        Lot.quarantined,
        Lot.received_at,
        Lot.cured,
        Lot.origin,
        Job.number.label("job"),
        Lot.grade,
        Lot.bin,
        Lot.set_number,
        Lot.set_broken,
        usable.LONE.label("lone"),
    )
    .join(Part, Part.id == Lot.part_id)
    .outerjoin(Job, Job.id == Lot.job_id)
)
_OF_PART = _LOT.where(Part.number == bindparam("part"), Lot.on_hand > 0).order_by(Lot.id)
_SCANNED = _LOT.where(Lot.number == bindparam("number"))
_NAMED = _SCANNED.where(Part.number == bindparam("part"))
_OF_SET = _LOT.where(Lot.set_number == bindparam("set_number")).order_by(Part.number, Lot.id)


def of_part(db: Connection, part: str) -> tuple[LotState, ...]:
    """Every lot of the part with pieces left."""
    rows = db.execute(_OF_PART, {"part": part})
    return tuple(_state(row) for row in rows)


def of_set(db: Connection, number: str) -> tuple[LotState, ...]:
    """The lots of a matched set, used up or not; none for what is no number of one."""
    if not 0 < len(number) <= LONGEST_SET:
        return ()
    return tuple(_state(row) for row in db.execute(_OF_SET, {"set_number": number}))


def issued_to_mates(db: Connection, sheet: Sheet, line: Issue) -> tuple[LotState, ...]:
    """The lots that the other lines of the line's matched set count on in this job."""
    found = (issued(db, sheet, kit, part) for kit, part, _ in line.mates)
    return tuple(lot for lots in found for lot in lots)


def issued(db: Connection, sheet: Sheet, kit: str, part: str) -> tuple[LotState, ...]:
    """The lots that the kit line, which asks for the part, counts on in this job."""
    state = sheet.get(issue_key(kit))
    answers = state.given.values() if state is not None else ()
    named = (issued_as(answer.answer, part) for answer in answers)
    rows = (
        db.execute(_NAMED, {"part": of_part, "number": number}).one_or_none()
        for of_part, number in named
    )
    return tuple(_state(row) for row in rows if row is not None)


def scanned(
    db: Connection,
    code: str,
    expected: str,
    stand_ins: Callable[[], Collection[str]] = frozenset,
) -> LotState:
    """The lot behind a scan: where parts share a lot number that of the expected one, else of one
    of ``stand_ins``, which are asked for only then.

    Raises NotFound, naming a part where a part label was scanned instead.
    """
    rows = [_state(row) for row in db.execute(_SCANNED, {"number": code.upper()})]
    own = next((lot for lot in rows if lot.part == expected), None)
    if own is not None:
        return own
    if rows:
        meant = stand_ins()
        return min(rows, key=lambda lot: lot.part not in meant)
    part = db.execute(select(Part.number).where(Part.number == code.upper())).scalar()
    if part is not None and part != expected:
        if part in stand_ins():
            raise NotFound(f"{part} may stand in for {expected}: scan the lot on its bag")
        raise NotFound(f"expected {expected}, scanned {part}: nothing was issued")
    what = "a part label; scan the lot on the bag" if part else "no lot of this shop"
    raise NotFound(f"read {code[:40]!r}: {what}; expected a lot of {expected}")


def _state(row: Row[*tuple[Any, ...]]) -> LotState:
    values = row._mapping
    return LotState(
        id=values["id"],
        part=values["part"],
        number=values["number"],
        on_hand=values["on_hand"],
        use_by=values["use_by"],
        quarantined=values["quarantined"],
        received=values["received_at"].astimezone().date(),
        cured=values["cured"],
        origin=values["origin"],
        job=values["job"],
        grade=values["grade"],
        bin=values["bin"],
        set_number=values["set_number"],
        set_broken=values["set_broken"],
        lone=values["lone"],
    )
