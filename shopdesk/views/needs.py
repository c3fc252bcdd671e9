"""What open jobs' kits still ask of the shelf, by part."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from sqlalchemy import Connection, func, select

from shopdesk.procedure import Policy
from shopdesk.records.tables import Job, Lot, Part, StockMove, Unit, UnitModel
from shopdesk.rules import kits
from shopdesk.rules.answers import Road
from shopdesk.rules.reorder import Need
from shopdesk.views import documents, sheets
from shopdesk.views.days import midnight

BEFORE_PARTS = ("receipt", "vent", "teardown", "decision")


def needs(db: Connection, today: date) -> Mapping[str, tuple[Need, ...]]:
    """Pieces the open jobs' kits will ask for and no job holds yet, by part number. Before the
    parts section a kit asks for what is always replaced; in it, for what the sheet asks."""
    jobs = db.execute(
        select(
            Job.id,
            Job.number,
            Job.stage,
            Job.promised_on,
            Job.procedure_revision_id,
            UnitModel.code,
        )
        .join(Unit, Unit.id == Job.unit_id)
        .join(UnitModel, UnitModel.id == Unit.unit_model_id)
        .where(
            Job.closed_at.is_(None),
            Job.road == Road.REPAIR.value,
            Job.stage.in_((*BEFORE_PARTS, "parts")),
        )
    ).all()
    held = _held(db, [job.id for job in jobs])
    own = _brought(db, [job.id for job in jobs])
    found: dict[str, dict[int, Need]] = defaultdict(dict)
    for job in jobs:
        waits = job.stage == "parts"
        for kit_line, part, pieces in _asked(
            db, job.number, job.procedure_revision_id, midnight(today), waits
        ):
            short = pieces - held.get((job.id, kit_line), 0)
            brought = min(own.get((job.id, part), 0), max(short, 0))
            if brought:
                own[job.id, part] -= brought
                short -= brought
            if short > 0:
                known = found[part].get(job.number)
                need = Need(job.number, max(job.promised_on, today), short, waits, job.code)
                if known is not None:
                    need = replace(known, pieces=known.pieces + short)
                found[part][job.number] = need
    return {part: tuple(of[job] for job in sorted(of)) for part, of in found.items()}


def _asked(
    db: Connection, number: int, revision: int, moment: datetime, sheet_asks: bool
) -> Iterable[tuple[str, str, int]]:
    """(kit line, part number, pieces still to be issued)."""
    if sheet_asks:
        view = sheets.load(db, number, moment)
        return [(kit.id, kit.part, pieces) for kit, pieces in kits.needs(view.sheet)]
    kit = documents.revision(db, revision).kit
    return [(line.id, line.part, line.quantity) for line in kit if line.policy is Policy.ALWAYS]


def _brought(db: Connection, jobs: Sequence[int]) -> dict[tuple[int, str], int]:
    """Pieces the jobs' customers brought and that are not yet issued, by job and part number."""
    rows = db.execute(
        select(Lot.job_id, Part.number, func.sum(Lot.on_hand))
        .join(Part, Part.id == Lot.part_id)
        .where(Lot.job_id.in_(jobs), Lot.origin == "customer", Lot.quarantined.is_(False))
        .group_by(Lot.job_id, Part.number)
    )
    return {(job or 0, part): int(pieces) for job, part, pieces in rows}


def _held(db: Connection, jobs: Sequence[int]) -> Mapping[tuple[int, str], int]:
    own = func.sum(StockMove.reserved_change)
    rows = db.execute(
        select(StockMove.job_id, StockMove.kit_line, own)
        .where(StockMove.job_id.in_(jobs))
        .group_by(StockMove.job_id, StockMove.kit_line)
        .having(own > 0)
    )
    return {(job or 0, kit_line): int(pieces) for job, kit_line, pieces in rows}
