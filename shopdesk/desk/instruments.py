"""Instruments at the bench: in date, of the right kind, inside their range; rigs and bottles."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, select

from shopdesk import quantities
from shopdesk.errors import BadInput, NotFound, Question, Refused
from shopdesk.records.tables import Bottle, Instrument
from shopdesk.rules import charging
from shopdesk.rules.sheet import Sheet
from shopdesk.views import charges, tools
from shopdesk.views.tools import Tool

GAS = "nitrogen"
PRESSURE_PARTS = ("rig", "hose", "regulator")


class NeedsInstrument(Refused):
    """A reading came before its instrument was scanned; ``kind`` is what it takes."""

    def __init__(self, message: str, kind: str) -> None:
        super().__init__(message)
        self.kind = kind


def fit_for_use(db: Connection, code: str, kind: str, now: datetime) -> Tool:
    """The scanned instrument, of the right kind and in date. Raises NotFound, Refused."""
    if not code.strip():
        raise BadInput(f"nothing is typed; scan the {kind}")
    tool = tools.find(db, code)
    if tool is None:
        raise NotFound(f"read {code[:30]!r}: no instrument of this shop; expected a {kind}")
    if tool.kind != kind:
        raise Refused(f"expected a {kind}, scanned {tool.code}, a {tool.kind}")
    _in_date(db, tool, now)
    return tool


def for_reading(
    db: Connection,
    job_id: int,
    kind: str,
    in_hand: Mapping[str, str],
    value_si: float,
    unit: str,
    now: datetime,
    span_si: float | None = None,
    beyond_si: float = 0.0,
) -> Tool:
    """The instrument a reading was taken with: the one in hand, else the last of its
    kind on this job whose range covers the value. ``span_si``: what the line's limit leaves open;
    a step wider than that cannot judge it, unless the reading lies ``beyond_si`` outside, further
    than a step. Raises Refused."""

    def choices() -> str:
        fit = [tool for tool in tools.usable(db, kind, now) if tools.covers(tool, value_si)]
        good = [tool.code for tool in fit if tools.tells(tool, span_si)]
        if not good:
            read = f"reads {quantities.text(value_si, unit)}{' finely enough' if fit else ''}"
            raise Refused(f"no {kind} of this shop that is in date {read}", (), "manager")
        return ", ".join(good)

    code = in_hand.get(kind)
    if code:
        tool: Tool | None = fit_for_use(db, code, kind, now)
    else:
        tool = tools.last_used(db, job_id, kind, value_si, span_si)
    if tool is None:
        raise NeedsInstrument(
            f"scan the {kind} first: readings carry their instrument. "
            f"In range and in date: {choices()}",
            kind,
        )
    _in_date(db, tool, now)
    if not tools.covers(tool, value_si):
        low = quantities.text(tool.low_si or 0.0, tool.unit or unit)
        high = quantities.text(tool.high_si or 0.0, tool.unit or unit)
        raise NeedsInstrument(
            f"{tool.code} reads {low} to {high}; {quantities.text(value_si, unit)} is outside. "
            f"In range and in date: {choices()}",
            kind,
        )
    if not tools.tells(tool, span_si) and (tool.resolution_si or 0.0) > beyond_si:
        step = quantities.span_text(tool.resolution_si or 0.0, tool.unit or unit)
        open_ = quantities.span_text(span_si or 0.0, unit)
        raise NeedsInstrument(
            f"{tool.code} shows steps of {step} and the limit leaves {open_}: it cannot tell. "
            f"Fine enough, in range and in date: {choices()}",
            kind,
        )
    return tool


def attached_ratings(db: Connection, sheet: Sheet) -> dict[str, float | None]:
    """Ratings of the rig, hose and regulator scanned in the charge section, by their codes.

    Raises Refused when no rig or no nitrogen bottle has been scanned for this charge.
    """
    scans = charging.scans(sheet)
    for needed in ("bottle", "rig"):
        if needed not in dict(scans):
            raise Refused(f"no {needed} has been scanned for this charge; its line comes first")
    return {f"{kind} {code}": rating_pa(db, code) for kind, code in scans if kind in PRESSURE_PARTS}


def rating_pa(db: Connection, code: str) -> float | None:
    """What the instrument may stand, gauge; None where its rating is not on record."""
    return db.execute(select(Instrument.rating_pa).where(Instrument.code == code)).scalar()


def nitrogen_bottle(db: Connection, code: str) -> str:
    """The code of a nitrogen bottle that is not empty; any other gas is refused."""
    row = db.execute(
        select(Bottle.code, Bottle.gas, Bottle.empty).where(Bottle.code == code.strip().upper())
    ).one_or_none()
    if row is None:
        raise NotFound(f"read {code[:30]!r}: no bottle of this shop; scan the bottle's label")
    if row.gas != GAS:
        raise Refused(
            f"bottle {row.code} holds {row.gas}: only dry nitrogen may be used. "
            "Oxygen or air with oil explodes",
            (),
            "technician: scan a nitrogen bottle",
        )
    if row.empty:
        raise Refused(f"bottle {row.code} is marked empty; take another")
    return str(row.code)


def bottle_gives(db: Connection, sheet: Sheet, setting_pa: float) -> None:
    """Raises Question where the bottle holds less, by the record, than the regulator is set to."""
    code = dict(charging.scans(sheet)).get("bottle", "")
    held = charges.bottle(db, code) if code else None
    if held is None or setting_pa <= held.pressure_pa:
        return
    plan = sheet.procedure.charge
    unit = "bar" if plan is None else plan.target.unit
    raise Question(
        f"bottle {code} holds {quantities.text(held.pressure_pa, unit)} by the record and cannot "
        f"give {quantities.text(setting_pa, unit)}. Does its gauge show more?"
    )


def _in_date(db: Connection, tool: Tool, now: datetime) -> None:
    why = tools.unfit(db, tool, now)
    if why:
        raise Refused(why, (), "manager")
