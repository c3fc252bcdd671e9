"""What to fetch from the shelf for a job: which pieces of which lot from which bin."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlalchemy import Connection, select

from shopdesk.procedure import types as doc
from shopdesk.records.tables import Part
from shopdesk.rules import kits
from shopdesk.rules.answers import Road
from shopdesk.rules.generated import Issue, issue_key
from shopdesk.views import held, interchange, lots, sheets
from shopdesk.views.sheets import Heading, SheetView


@dataclass(frozen=True, slots=True)
class Pick:
    """Pieces of one lot; ``lot`` "" for pieces the shelf cannot give; ``stands_in_for``: the part
    the kit asks for, where this one takes its place."""

    part: str
    description: str
    position: str
    bin: str
    lot: str
    pieces: int
    cured: str
    use_by: date | None
    stands_in_for: str = ""
    set_number: str = ""


@dataclass(frozen=True, slots=True)
class PickList:
    """``offers``: what may stand in for a part that is short."""

    shop: str
    heading: Heading
    at: datetime
    picks: tuple[Pick, ...]
    offers: tuple[str, ...]


def pick_list(db: Connection, number: int, now: datetime) -> PickList:
    """By bin, in it what is to be used first; what is short comes last. Raises NotFound."""
    view = sheets.load(db, number, now)
    today = now.astimezone().date()
    picks = tuple(_picks(db, view, today))
    ordered = sorted(picks, key=lambda p: (not p.lot, p.bin, p.part, p.use_by or date.max))
    offers = tuple(_offers(db, view, {p.part for p in picks if not p.lot}, today))
    return PickList(view.sheet.shop.name, view.heading, now, tuple(ordered), offers)


def _offers(db: Connection, view: SheetView, short: set[str], today: date) -> Iterator[str]:
    model = view.sheet.procedure.model
    for kit, _ in kits.needs(view.sheet):
        if kit.part in short:
            short.remove(kit.part)
            for one in interchange.stand_ins(db, kit.part, today, model=model, kit=kit.id):
                yield f"for {kit.part} {one.said}"


def _picks(db: Connection, view: SheetView, today: date) -> Iterator[Pick]:
    if view.sheet.facts.road is not Road.REPAIR:
        return
    states = {kit.id: kit for kit in view.sheet.facts.kit}
    stood_in = [one for one in held.of_job(db, view.heading.job_id) if one.by is not None]
    number = view.heading.number
    taken: dict[tuple[str, str], int] = {}
    free: dict[str, int] = {}
    brought: dict[str, int] = {}
    sets: set[str] = set()  # of matched parts: whose mates the job has, or are on the list
    for kit, left in kits.needs(view.sheet):
        line = view.sheet.get(issue_key(kit.id))
        if line is not None and isinstance(line.line, Issue):
            sets.update(one.set_number for one in lots.issued_to_mates(db, view.sheet, line.line))
        state, asked = states.get(kit.id), left
        for one in stood_in:
            if one.kit_line == kit.id:
                other = replace(kit, part=_number(db, one.part_id))
                for pick in _from_lots(db, other, one.pieces, taken, sets, today, number):
                    asked -= pick.pieces
                    yield replace(pick, stands_in_for=kit.part)
        spare = free.setdefault(kit.part, state.available if state else 0)
        reserved = (state.reserved if state else 0) - (left - asked)
        own = min(brought.setdefault(kit.part, state.own if state else 0), asked)
        brought[kit.part] -= own
        can = min(asked, own + reserved + spare)
        free[kit.part] -= max(0, can - own - reserved)
        found = 0
        for pick in _from_lots(db, kit, can, taken, sets, today, number):
            found += pick.pieces
            yield pick
        if found < asked:
            description, shelf = _known(db, kit.part)
            where = kit.position or ""
            yield Pick(kit.part, description, where, shelf, "", asked - found, "", None)


def _from_lots(
    db: Connection,
    kit: doc.KitLine,
    pieces: int,
    taken: dict[tuple[str, str], int],
    sets: set[str],
    today: date,
    job: int,
) -> Iterator[Pick]:
    description, shelf = _known(db, kit.part)
    found, mate = lots.of_part(db, kit.part), bool(kit.matched)
    own = kits.own_lots(found, job, today, matched=mate)
    good = kits.good_lots(found, today, matched=mate)
    for lot in sorted((*own, *good), key=lambda lot: lot.matched and lot.set_number not in sets):
        there = lot.on_hand - taken.get((kit.part, lot.number), 0)
        now = min(pieces, there)
        if now <= 0:
            continue
        taken[kit.part, lot.number] = taken.get((kit.part, lot.number), 0) + now
        pieces -= now
        if lot.matched:
            sets.add(lot.set_number)
        where, mates = kit.position or "", lot.set_number if mate else ""
        lies = lot.bin or shelf
        pick = Pick(kit.part, description, where, lies, lot.number, now, lot.cured, lot.use_by)
        yield replace(pick, set_number=mates)


def _number(db: Connection, part_id: int) -> str:
    return db.execute(select(Part.number).where(Part.id == part_id)).scalar_one()


def _known(db: Connection, part: str) -> tuple[str, str]:
    row = db.execute(select(Part.description, Part.bin).where(Part.number == part)).one_or_none()
    return (row.description, row.bin) if row else ("not a part of this shop", "")
