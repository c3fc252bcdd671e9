"""What must be true of a record after the torture."""

import json
import subprocess
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine, func, select
from sqlalchemy.pool import NullPool

from shopdesk.records import chain, witness
from shopdesk.records.engine import open_record
from shopdesk.records.tables import Entry, Event, Lot, Part, StockMove


def faults(url: str, told: Sequence[Mapping[str, Any]]) -> list[str]:
    """Every way in which the record is not what it should be; ``told`` are the deeds that were
    acknowledged."""
    record = open_record(url)
    try:
        with record.read() as db:
            found = [*_chain(db), *_ledger(db), *_acknowledged(db, told), *_whole_entries(db)]
            if record.dialect == "sqlite":
                found += _sound_file(db)
        return found
    finally:
        record.close()


def copy_faults(path: Path, told: Sequence[Mapping[str, Any]]) -> list[str]:
    """The same of a copy, which has to hold what was acknowledged before it was begun. A dump is
    asked for that alone: it was read through when it was made."""
    if path.suffix == ".dump":
        found = list(_in_dump(path, told))
    else:
        engine = create_engine(f"sqlite:///{path}", poolclass=NullPool)
        with engine.connect() as db:
            found = [*_chain(db), *_ledger(db), *_acknowledged(db, told), *_whole_entries(db)]
            found += _sound_file(db)
    return [f"the copy {path.name}: {fault}" for fault in found]


def _in_dump(path: Path, told: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    words = ["pg_restore", "--data-only", "--table=event", "--table=lot", "--file=-", str(path)]
    rows = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    for deed in told:
        if deed["key"] not in rows:
            yield f"an acknowledged {deed['kind']} {deed['key']} is not in it"


def _chain(db: Connection) -> Iterator[str]:
    broken = chain.verify(db).broken or witness.fault(db)
    if broken is not None:
        yield f"the chain: {broken}"


def _ledger(db: Connection) -> Iterator[str]:
    moved = (
        func.coalesce(func.sum(StockMove.on_hand_change), 0),
        func.coalesce(func.sum(StockMove.reserved_change), 0),
    )
    of_part = select(StockMove.part_id, *moved).group_by(StockMove.part_id)
    sums = {part: (on_hand, reserved) for part, on_hand, reserved in db.execute(of_part)}
    for part in db.execute(select(Part.id, Part.number, Part.on_hand, Part.reserved)):
        if sums.get(part.id, (0, 0)) != (part.on_hand, part.reserved):
            yield f"part {part.number}: {part.on_hand}, {part.reserved} but {sums.get(part.id)}"
    of_lot = select(StockMove.lot_id, moved[0]).group_by(StockMove.lot_id)
    lots = dict(db.execute(of_lot).all())
    for lot in db.execute(select(Lot.id, Lot.number, Lot.on_hand)):
        if lots.get(lot.id, 0) != lot.on_hand or lot.on_hand < 0:
            yield f"lot {lot.number}: {lot.on_hand} but {lots.get(lot.id)}"


def _acknowledged(db: Connection, told: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    keys = Counter(
        db.execute(select(Event.commit_key).where(Event.commit_key.is_not(None))).scalars()
    )
    received = Counter(
        db.execute(
            select(Lot.number)
            .join(StockMove, StockMove.lot_id == Lot.id)
            .where(StockMove.kind == "receive")
        ).scalars()
    )
    for deed in told:
        times = received[deed["key"]] if deed["kind"] == "lot" else keys[deed["key"]]
        if times != 1:
            yield f"an acknowledged {deed['kind']} {deed['key']} is there {times} times"


def _whole_entries(db: Connection) -> Iterator[str]:
    """Each entry with its event, each event with its entry."""
    events = db.execute(select(Event.payload).where(Event.kind == "entry")).scalars()
    said = Counter((json.loads(p) if isinstance(p, str) else p)["entry"] for p in events)
    there = set(db.execute(select(Entry.id)).scalars())
    for entry in there ^ set(said):
        yield f"entry {entry} stands without its event, or the event without it"
    for entry, times in said.items():
        if times != 1:
            yield f"entry {entry} has {times} events"


def _sound_file(db: Connection) -> Iterator[str]:
    sound = db.exec_driver_sql("PRAGMA integrity_check").scalar_one()
    if sound != "ok":
        yield f"the file: {sound}"
    for row in db.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"a row without its parent: {row}"
