"""The composite unit's whole sheet at the keyboard, and what it costs in keys."""

from collections.abc import Callable

import pytest
from sqlalchemy import func, select

from shopdesk.desk import bench, counter, office
from shopdesk.records.tables import Entry
from tests.acceptance.conftest import Day
from tests.acceptance.filling import fill
from tests.acceptance.terminal import terminal

MOST_CONTROL_KEYS = 1.3  # a recorded value: everything that is not content, Enter included


@pytest.mark.parametrize("day", ["sqlite"], indirect=True)
async def test_the_whole_sheet_takes_few_control_keys(
    day: Day, record_property: Callable[[str, object], None], capsys: pytest.CaptureFixture[str]
) -> None:
    core = counter.Core("SC-7741", "SC-240", "C02", "sinks under load")
    number = counter.receive_core(day.shop, "SK", core).heading.number
    bench.take_job(day.shop, "RT", number, "RT")
    async with terminal(day.shop, person="RT", size=(100, 40)) as t:
        t.app.open_sheet(number)
        await t.settled()
        await fill(t, day, day.hands.bench, until="decision")
        office.make_quote(day.shop, "SK", number)
        total = day.view(number).sheet.facts.quote
        assert total is not None
        office.record_answer(
            day.shop,
            "SK",
            number,
            approved=True,
            by="the skipper",
            how="telephone",
            cap_cents=total.total_cents,
        )
        await t.press("f8")
        t.sheet.reload()
        await t.settled()
        await t.press("f8")
        await fill(t, day, day.hands.bench, until="nothing is left")
        t.shows("every line done")
        with day.shop.read() as db:
            values = db.execute(
                select(func.count(Entry.id)).where(Entry.job_id == day.view(number).heading.job_id)
            ).scalar_one()
        per_value = t.control / values
        record_property("control_keys_per_value", per_value)
        with capsys.disabled():
            print(  # noqa: T201 (the count is part of the test's output)
                f"\ncomposite: {values} values, {t.control} control keys, "
                f"{per_value:.2f} a value (at most {MOST_CONTROL_KEYS})"
            )
        assert len(day.view(number).sheet.lines) >= 60
        assert per_value <= MOST_CONTROL_KEYS
