"""The wrench that lied, by key presses on each database."""

import csv
from pathlib import Path

import pytest
from sqlalchemy import func, select

from shopdesk.desk import instruments
from shopdesk.errors import Refused
from shopdesk.records.tables import Entry, Instrument, Job
from shopdesk.views import instruments as views
from shopdesk.views import recalls, trace
from tests.acceptance.conftest import Day, visit
from tests.acceptance.terminal import Terminal, terminal

UNITS = (("V70001", "C12"), ("V70002", "C05"))


async def test_the_wrench_that_lied(
    day: Day, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    jobs = [visit(day, serial, "RC-012", customer) for serial, customer in UNITS]
    tool, before = _wrench(day, jobs)
    day.on(days=240)
    async with terminal(day.shop) as t:
        await t.press("f6")
        await t.enter("OB 7314")
        await t.press("f5", "i")
        t.shows("instruments, the first due first")
        await t.press("f7")
        await t.enter(tool)
        await _a_check_before_the_last_is_refused(t)
        await _fails(t, tool)
        await t.press("enter")
        t.shows("read 9 % high", "looser than recorded: in truth = recorded / 1.09", "holds")
        await t.press("x")
        t.shows("exported:")
        await t.press("j")
        t.shows("2 recheck jobs opened")
        await t.press("j")
        t.shows("0 recheck jobs opened; 2 units in house")
    _listed(day, tool, before)
    _refused(day, tool)
    _exported(tmp_path, before)
    _marked(day, jobs[0])


def _wrench(day: Day, jobs: list[int]) -> tuple[str, dict[int, float]]:
    """The wrench most used on these jobs, and what it gave by entry."""
    with day.shop.read() as db:
        tool = (
            db.execute(
                select(Instrument.code)
                .join(Entry, Entry.instrument_id == Instrument.id)
                .join(Job, Job.id == Entry.job_id)
                .where(Job.number.in_(jobs), Instrument.kind == "torque wrench")
                .group_by(Instrument.code)
                .order_by(func.count(Entry.id).desc())
            )
            .scalars()
            .first()
        )
        taken = db.execute(
            select(Entry.id, Entry.value_si)
            .join(Instrument, Instrument.id == Entry.instrument_id)
            .join(Job, Job.id == Entry.job_id)
            .where(Job.number.in_(jobs), Instrument.code == tool, Entry.value_si.is_not(None))
        ).all()
    assert tool is not None
    return tool, {row.id: row.value_si for row in taken}


async def _a_check_before_the_last_is_refused(t: Terminal) -> None:
    await t.press("c")
    await t.enter("failed")
    await t.press(*["backspace"] * 10)
    await t.enter("2020-01-31")
    await t.press("enter", "enter", "enter")
    t.shows("a check on 2020-01-31, but its last one was on", "Nothing was recorded", "failed")
    await t.press("escape")


async def _fails(t: Terminal, tool: str) -> None:
    await t.press("c")
    await t.enter("failed")
    await t.enter()
    await t.enter("9 %")
    await t.enter("CH-88")
    await t.enter()
    t.shows(f"{tool} failed (read 9 % high) and is refused; 2 jobs in doubt", "REFUSED")


def _listed(day: Day, tool: str, before: dict[int, float]) -> None:
    """Every torque taken with it, divided by 1.09 (the definition of relative error), with its
    customer and ship date; the entries themselves as they were."""
    with day.shop.read() as db:
        seen = views.suspect(db, tool)
        now = dict(db.execute(select(Entry.id, Entry.value_si).where(Entry.id.in_(before))).all())
        called = recalls.units(db, "tool", tool)
    assert now == before
    assert {d.entry_id for d in seen.doubts} == set(before)
    assert all(
        d.corrected_si == pytest.approx(before[d.entry_id] / 1.09, rel=1e-12) for d in seen.doubts
    )
    holds = [d.holds_pressure is True for d in seen.doubts]
    assert holds == sorted(holds, reverse=True)
    assert holds[0]
    assert all(d.shipped_on is not None and d.customer for d in seen.doubts)
    assert {unit.serial for unit in called} >= {serial for serial, _ in UNITS}


def _refused(day: Day, tool: str) -> None:
    with day.shop.read() as db, pytest.raises(Refused, match=r"failed its check of .* 9 % high"):
        instruments.fit_for_use(db, tool, "torque wrench", day.clock.now)


def _exported(folder: Path, before: dict[int, float]) -> None:
    [path] = folder.rglob("suspect-*-doubts.csv")
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    assert len(rows) == len(before)
    assert all(row["shipped_on"] and row["customer"] and row["joint"] for row in rows)
    assert {row["direction"].split(",")[0] for row in rows} == {"looser"}


def _marked(day: Day, number: int) -> None:
    """The sheet of the job says at the line that its wrench lied."""
    marks = [a.doubt for s in day.view(number).sheet.lines for a in s.given.values() if a.doubt]
    assert marks
    assert set(marks) == {"read 9 % high"}


async def test_a_lot_leads_to_units_and_customers_in_one_key(day: Day) -> None:
    jobs = [visit(day, serial, "RC-012", customer) for serial, customer in UNITS]
    with day.shop.read() as db:
        shared = set.intersection(
            *({row.lot for row in trace.of(db, f"J-{number}").fitted} for number in jobs)
        )
    lot = sorted(shared)[0]
    async with terminal(day.shop, person="OB") as t:
        await t.press("f5", "l")
        await t.enter("lot")
        await t.enter(lot)
        t.shows(f"Recall: lot {lot}", "V70001", "V70002", "Customers to call")
        await t.press("escape", "l")
        await t.enter("lot")
        await t.enter("NO-SUCH")
        t.shows("NO-SUCH", "no lot")
