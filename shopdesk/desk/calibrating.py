"""Calibrations passed and failed, instruments retired, and the units called back for one."""

from datetime import datetime, timedelta

from sqlalchemy import func, insert, select, update

from shopdesk.desk import counter, standing
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records.tables import (
    Bottle,
    Calibration,
    Customer,
    Instrument,
    Job,
    Unit,
)
from shopdesk.rules.doubts import Doubt, read_wrong
from shopdesk.views import documents
from shopdesk.views import instruments as views

LONGEST_COMPLAINT = 400


def record_calibration(
    shop: Shop,
    who: str,
    code: str,
    *,
    due: datetime | None = None,
    passed: bool = True,
    certificate: str = "",
    at: datetime | None = None,
    error_share: float | None = None,
) -> str:
    """What the check of ``at`` (now without it) found. Passed: usable until ``due``, without it
    for the instrument's interval. Failed: refused everywhere from now on. Raises BadInput,
    NotFound, Refused."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "keep instruments")
        found = _instrument(deed, code)
        if found.refused.startswith("retired"):
            raise Refused(f"{found.code} is {found.refused}; nothing was recorded")
        moment = at or deed.now
        _dated(deed, found.id, found.code, moment)
        if error_share is not None and not -0.95 <= error_share <= 10:
            raise BadInput(f"{found.code}: an error of {error_share:.0%} cannot be; nothing kept")
        until = _due(found.code, due, moment, found.interval_days, deed.now) if passed else moment
        values = {
            "at": moment,
            "due": until,
            "passed": passed,
            "certificate": certificate.strip(),
            "error_share": error_share,
        }
        deed.db.execute(insert(Calibration).values(instrument_id=found.id, **values))
        read = read_wrong(error_share)
        refused = None if passed else f"failed its check of {_day(moment)}: {read}"
        deed.db.execute(update(Instrument).where(Instrument.id == found.id).values(refused=refused))
        payload = {**values, "at": moment.isoformat(), "due": _day(until)}
        deed.event("calibration", person, {"instrument": found.code, **payload})
        if passed:
            return f"{found.code} passed; due again on {_day(until)}"
        doubts = views.suspect(deed.db, found.code).doubts
        jobs = {doubt.job for doubt in doubts}
        if jobs:  # sheets that stand open elsewhere are read anew, with the mark
            deed.db.execute(update(Job).where(Job.number.in_(jobs)).values(version=Job.version + 1))
        return f"{found.code} failed ({read}) and is refused; {len(jobs)} jobs in doubt"

    return shop.write(work)


def retire(shop: Shop, who: str, code: str, why: str) -> str:
    """Takes an instrument out of use for good; what it measured stays."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "keep instruments")
        found = _instrument(deed, code)
        if not why.strip():
            raise BadInput("why is it retired? nothing was recorded")
        said = f"retired on {_day(deed.now)}: {why.strip()[:200]}"
        deed.db.execute(update(Instrument).where(Instrument.id == found.id).values(refused=said))
        deed.event("instrument retired", person, {"instrument": found.code, "why": why.strip()})
        return f"{found.code} {said}"

    return shop.write(work)


def bottle_empty(shop: Shop, who: str, code: str) -> str:
    """Marks a gas bottle empty; it is refused at the charge from then on."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "mark a bottle")
        key = code.strip().upper()
        done = deed.db.execute(
            update(Bottle).where(Bottle.code == key, ~Bottle.empty).values(empty=True)
        )
        if not done.rowcount:
            raise NotFound(f"read {code.strip()[:30]!r}: no bottle of this shop that is not empty")
        deed.event("bottle empty", person, {"code": key})
        return f"bottle {key} is marked empty"

    return shop.write(work)


def open_rechecks(shop: Shop, who: str, code: str) -> str:
    """Opens a job for every unit that left with a reading the instrument puts in doubt, under
    the warranty. What is in house, or was called back before, is left as it is."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "keep instruments")
        seen = views.suspect(deed.db, code)
        if seen.failed_at is None:
            raise Refused(f"{seen.code} has not failed a check; there is nothing to recheck")
        by_unit: dict[int, list[Doubt]] = {}
        for doubt in seen.doubts:
            by_unit.setdefault(doubt.unit_id, []).append(doubt)
        opened, here = [], 0
        for unit_id, doubts in by_unit.items():
            if _here_or_called(deed, unit_id, seen.code):
                here += 1
                continue
            opened.append(_recheck(deed, person, seen, unit_id, doubts))
        tags = ", ".join(f"J-{number}" for number in opened[:6])
        more = " and more" if len(opened) > 6 else ""
        left = f"; {here} units in house, scrapped or called back already" if here else ""
        return f"{len(opened)} recheck jobs opened{': ' if opened else ''}{tags}{more}{left}"

    return shop.write(work)


def _here_or_called(deed: Deed, unit_id: int, code: str) -> bool:
    return (
        deed.db.execute(
            select(Job.id).where(
                Job.unit_id == unit_id,
                Job.closed_at.is_(None)
                | (Job.road == "scrapped")
                | Job.complaint.startswith(_begins(code), autoescape=True),
            )
        ).first()
        is not None
    )


def _begins(code: str) -> str:
    return f"Recheck, {code} "


def _recheck(
    deed: Deed, person: Worker, seen: views.Suspect, unit_id: int, doubts: list[Doubt]
) -> int:
    unit = deed.db.execute(
        select(Unit.serial, Unit.unit_model_id, Unit.customer_id, Customer.code, Customer.house)
        .join(Customer, Customer.id == Unit.customer_id)
        .where(Unit.id == unit_id)
    ).one()
    revision_id = deed.db.execute(documents.newest_of(unit.unit_model_id)).scalar_one()
    joints = "; ".join(f"{d.joint} (J-{d.job})" for d in doubts)
    said = f"{_begins(seen.code)}{read_wrong(seen.error_share)}: {joints}"
    kind = "exchange" if unit.house else "warranty"
    core = counter.Core(
        unit.serial, doubts[0].model, unit.code, said[:LONGEST_COMPLAINT], kind=kind
    )
    number, _ = counter.open_job(deed, person, core, unit_id, unit.customer_id, revision_id)
    standing.settle(deed, number, person)
    return number


def _instrument(deed: Deed, code: str) -> "views.Kept":
    key = code.strip().upper()
    found = next((one for one in views.kept(deed.db, deed.now) if one.code == key), None)
    if found is None:
        raise NotFound(f"no instrument {key[:30]!r} on the shop's list")
    return found


def _dated(deed: Deed, instrument_id: int, code: str, moment: datetime) -> None:
    """A check lies after the one before it and not in the future. Raises BadInput."""
    last = deed.db.execute(
        select(func.max(Calibration.at)).where(Calibration.instrument_id == instrument_id)
    ).scalar()
    if last is not None and moment < last:
        raise BadInput(
            f"{code}: read a check on {_day(moment)}, but its last one was on {_day(last)}; "
            "give a later date. Nothing was recorded"
        )
    if moment > deed.now:
        raise BadInput(f"{code}: {_day(moment)} has not come yet; give the day it was checked")


def _due(
    code: str, due: datetime | None, moment: datetime, interval_days: int | None, now: datetime
) -> datetime:
    until = due or (moment + timedelta(days=interval_days) if interval_days else None)
    if until is None:
        raise BadInput(f"{code} has no interval on record; give the date it is due again")
    if until <= now or until <= moment:
        raise BadInput(f"{code}: a calibration that runs out on {_day(until)} is over already")
    return until


def _day(moment: datetime) -> str:
    return moment.astimezone().date().isoformat()
