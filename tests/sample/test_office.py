"""The office's reports on the sample shop: figures against independent counts and scipy, on both
databases; the screens and the command line."""

import csv
import io
import json
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader
from scipy import stats as reference
from scipy.stats import CensoredData
from sqlalchemy import text

from shopdesk.desk import forecasting, office, reports
from shopdesk.desk.calculator.curves import Drawing
from shopdesk.desk.reports.made import Line, Report
from shopdesk.desk.shop import Shop
from shopdesk.errors import BadInput, NotFound
from shopdesk.records import chain
from shopdesk.records.engine import open_record
from shopdesk.rules.forecast import Cancelled
from shopdesk.rules.shop import money as money_in_words
from shopdesk.tui.app import ShopApp
from shopdesk.views import drift, forecasts, promised, quality
from tests.cli.shell import run
from tests.fixtures_sample import SAMPLE_DAY
from tests.tui.driving import see, type_in

NOW = datetime(SAMPLE_DAY.year, SAMPLE_DAY.month, SAMPLE_DAY.day, 8, tzinfo=UTC)
MANAGER = "OB 7314"


def opened(url: str) -> Shop:
    return Shop(open_record(url), clock=lambda: NOW, terminal="test")


@pytest.fixture
def shop(sample_database: str) -> Iterator[Shop]:
    made = opened(sample_database)
    yield made
    made.record.close()


@pytest.fixture
def one(sample_url: str) -> Iterator[Shop]:
    """On SQLite alone: what a screen or the command line adds does not differ by database."""
    made = opened(sample_url)
    yield made
    made.record.close()


def of(report: Report, part: str, first: object) -> Line:
    return next(line for line in report.part(part).lines if line.cells[0] == first)


def test_every_report_is_made_and_its_figures_agree_with_plain_counts(shop: Shop) -> None:
    made = {
        name: reports.make(shop, name)
        for name in reports.REPORTS
        if name
        not in ("promise", "calibration", "drift", "suspect", "recall", "claim")  # about something
    }
    for report in made.values():
        for part in report.parts:
            assert all(len(line.cells) == len(part.columns) for line in part.lines), part.name
    with shop.read() as db:
        open_jobs, held = db.execute(
            text(
                "SELECT count(*), sum(CASE WHEN gas_state IN ('charged','unknown') THEN 1 ELSE 0 "
                "END) FROM job WHERE closed_at IS NULL"
            )
        ).one()
        ledger = db.execute(
            text(
                "SELECT sum(m.on_hand_change * l.unit_cost_cents) FROM stock_move m JOIN lot l "
                "ON l.id = m.lot_id"
            )
        ).scalar_one()
        first = db.execute(
            text(
                "SELECT e.verdict, count(*) FROM entry e JOIN job j ON j.id = e.job_id WHERE "
                "e.line = 'proof.bypass' AND e.slot = 'value' AND j.closed_at IS NOT NULL AND "
                "e.id = (SELECT min(f.id) FROM entry f WHERE f.job_id = e.job_id AND f.line = "
                "e.line AND f.slot = e.slot) GROUP BY e.verdict"
            )
        ).all()
    assert of(made["morning"], "questions", "Charged or unknown").cells[1] == held
    assert len(made["backlog"].part("pressed").lines) == held
    assert len(made["promises"].part("dates").lines) == open_jobs
    held_in = ("stock to be used", "stock over its time", "used parts", "stock in quarantine")
    tied = made["money"].part("tied_up").lines
    stock = [line for line in tied if str(line.cells[0]).startswith(held_in)]
    assert sum(int(str(line.cells[1])) for line in stock) == ledger
    with shop.read() as db:
        found = quality.entries(db)
    bypass = next(y for y in found.yields if y.line.startswith("Leak past the piston"))
    verdicts: dict[str, int] = dict(first)
    assert (bypass.rate.count, bypass.rate.of) == (verdicts["within"], sum(verdicts.values()))


def test_a_slip_of_the_keys_that_was_corrected_is_no_failed_test_and_no_drift(one: Shop) -> None:
    with one.read() as db:
        slips = db.execute(
            text(
                "SELECT e.job_id FROM entry e JOIN entry c ON c.supersedes = e.id JOIN job j ON "
                "j.id = e.job_id WHERE j.closed_at IS NOT NULL AND e.line = 'proof.cracks' AND "
                "e.verdict = 'outside' AND c.verdict = 'within'"
            )
        ).all()
        found = quality.entries(db)
        tested = {y.line for y in found.yields}
        serial = db.execute(
            text(
                "SELECT u.serial FROM unit u JOIN job j ON j.unit_id = u.id JOIN entry e ON "
                "e.job_id = j.id WHERE e.line = 'teardown.bore' AND j.closed_at IS NOT NULL GROUP "
                "BY u.serial HAVING count(DISTINCT j.id) > 2 ORDER BY u.serial LIMIT 1"
            )
        ).scalar_one()
        visits = db.execute(
            text(
                "SELECT e.value_si FROM entry e JOIN job j ON j.id = e.job_id JOIN unit u ON "
                "u.id = j.unit_id WHERE u.serial = :serial AND e.line = 'teardown.bore' AND "
                "e.slot = 'd1a1' AND e.value_si IS NOT NULL AND NOT EXISTS (SELECT 1 FROM entry c "
                "WHERE c.supersedes = e.id) AND e.id = (SELECT min(f.id) FROM entry f WHERE "
                "f.job_id = e.job_id AND f.line = e.line AND f.slot = e.slot AND NOT EXISTS "
                "(SELECT 1 FROM entry c WHERE c.supersedes = f.id)) ORDER BY e.id"
            ),
            {"serial": serial},
        ).scalars()
        read = visits.all()
        drifts = drift.of_serial(db, serial)
    assert slips, "the sample shop has mistyped cracking pressures"
    cracks = next(y for y in found.yields if y.line == "Cracks at")
    assert cracks.rate.count == cracks.rate.of
    assert "Locknut, adjuster held" not in tested, "a wrench's setting proves nothing of the unit"
    bore = next(d for d in drifts if d.line.startswith("Bore of the tube, at 15 mm, 0"))
    assert [value for _, value in bore.readings] == pytest.approx(read)
    years = [at.timestamp() / (365.25 * 86400) for at, _ in bore.readings]
    assert bore.per_year == pytest.approx(reference.linregress(years, read).slope)
    with one.read() as db, pytest.raises(NotFound, match="no unit has the serial"):
        drift.of_serial(db, "nobody's")


def test_shares_of_causes_are_of_all_of_them(one: Shop) -> None:
    with one.read() as db:
        found = quality.entries(db)
    report = reports.make(one, "quality")
    every = sum(count for _, count in found.findings)
    lines = report.part("findings").lines
    assert len(found.findings) > len(lines), "more kinds of findings than the report has room for"
    for line in lines:
        assert line.cells[2] == int(str(line.cells[1])) / every
        assert isinstance(line.opens, Drawing)
    assert 0.5 < lines[-1].cells[3] < 1.0  # type: ignore[operator]


def test_returns_against_scipy(shop: Shop) -> None:
    with shop.read() as db:
        units = quality.left(db, NOW)
        warranty = db.execute(text("SELECT count(*) FROM job WHERE kind = 'warranty'")).scalar_one()
    assert sum(unit.returned for unit in units) <= warranty
    report = reports.make(shop, "returns")
    fit = of(report, "life", "all models")
    data = CensoredData(
        uncensored=[u.days for u in units if u.returned],
        right=[u.days for u in units if not u.returned],
    )
    shape, _, scale = reference.weibull_min.fit(data, floc=0)
    assert fit.cells[1:3] == pytest.approx((shape, scale), rel=2e-3)
    models = Counter(unit.model for unit in units)
    for line in report.part("model").lines:
        model, share, low, high, back, left = line.cells
        assert models[str(model)] == left
        bounds = reference.binomtest(int(str(back)), int(str(left))).proportion_ci(0.95, "exact")
        assert (low, high) == pytest.approx((bounds.low, bounds.high), abs=1e-9)
        assert low <= share <= high  # type: ignore[operator]
    assert not [line for line in report.part("model").lines if line.cells[5] < 8]  # type: ignore[operator]


def test_replayed_over_the_past_the_80_percent_date_holds_within_its_bound(one: Shop) -> None:
    report = reports.make(one, "calibration")
    _, stated, kept, low, high, jobs, _ = of(report, "replayed", "80 % date").cells
    assert stated == 0.80
    assert jobs > 60  # type: ignore[operator]
    assert low <= 0.80 <= high  # type: ignore[operator]
    assert low <= kept <= high  # type: ignore[operator]
    assert of(report, "replayed", "mean + 2 deviations").cells[5] > 60  # type: ignore[operator]
    assert report.drawing is not None
    assert "mean + 2 deviations kept" in [curve.label for curve in report.drawing.curves]


def test_forecasts_are_kept_once_a_day_in_the_chain_and_then_scored(shop: Shop) -> None:
    with shop.read() as db:
        told = forecasts.promises(db, NOW)
    assert forecasting.keep(shop, told)
    assert not forecasting.keep(shop, told)
    later = Shop(shop.record, clock=lambda: NOW + timedelta(days=1), terminal="test")
    assert forecasting.keep(later, told)
    with shop.read() as db:
        chain.verify(db)
        number = next(iter(told.dates))
        said = promised.said_of(db, number)
        assert len(said) == 2
        assert said[0].by_80 == told.dates[number].by_80
        assert len(promised.said(db)) == 2 * len(told.dates)


def test_what_a_figure_of_the_morning_opens_adds_up_to_it(one: Shop) -> None:
    """At a moment when each of them counts something."""
    late = Shop(one.record, clock=lambda: NOW + timedelta(days=2), terminal="test")
    counted: dict[str, int] = {}
    for line in reports.make(late, "morning").part("questions").lines:
        question, figure, said = line.cells
        opens = str(line.opens)
        opened = reports.make(late, opens)
        if opens == "load":
            shares = [row.cells[2] for row in opened.part("people").lines]
            assert figure == sum(share > 0.8 for share in shares)  # type: ignore[operator]
            continue
        jobs = [part for part in opened.parts if part.name != "movers"]
        assert sum(len(part.lines) for part in jobs) == figure, question
        counted[str(question)] = int(str(figure))
        if opens.startswith("money:"):
            (part,) = opened.parts
            column = next(n for n, c in enumerate(part.columns) if c.key in ("cents", "cost"))
            whole = sum(int(str(row.cells[column])) for row in part.lines)
            assert money_in_words(whole, "EUR") in str(said)
            assert money_in_words(whole, "EUR") in part.title
    assert len(counted) >= 10
    assert min(counted[name] for name in ("Late", "Will likely be late", "Wait for parts")) > 0


def test_drawings_show_the_figures_of_their_tables(one: Shop) -> None:
    money = reports.make(one, "money")
    load = reports.make(one, "load")
    for report, part, columns, signs in (
        (money, "months", (3, 4), "#x"),
        (load, "people", (1, 3), "#o"),
    ):
        assert report.drawing is not None
        lines = report.part(part).lines
        assert len(report.drawing.names) == len(lines)
        for column, sign in zip(columns, signs, strict=True):
            drawn = {
                y: x
                for curve in report.drawing.curves
                if curve.sign == sign
                for x, y in curve.points
            }
            shown = [drawn[y] for y, _ in report.drawing.names]
            cents = 100.0 if part == "months" else 1.0
            assert shown == [float(str(line.cells[column])) / cents for line in lines]


def test_a_closed_jobs_promises_are_still_there(one: Shop) -> None:
    with one.read() as db:
        number, first, closed = db.execute(
            text(
                "SELECT number, first_promised_on, closed_at FROM job WHERE closed_at IS NOT NULL "
                "ORDER BY id LIMIT 1"
            )
        ).one()
    report = reports.make(one, f"promise:J-{number}")
    assert report.part("changes").lines[0].cells[1].isoformat() == str(first)  # type: ignore[union-attr]
    day = datetime.fromisoformat(str(closed)).replace(tzinfo=UTC).astimezone().date()
    assert f"Done on {day.day} {day:%B %Y}" in report.said[0]
    with pytest.raises(NotFound, match=r"no job J-1$"):
        reports.make(one, "promise:1")


def test_a_report_about_what_there_is_not_says_what_there_is(one: Shop) -> None:
    for name, says in (
        ("promises:soon", "likely late, this week"),
        ("money:gold", "quotes, work"),
        ("returns:lately", "returns:30"),
    ):
        with pytest.raises(BadInput, match=says):
            reports.make(one, name)


def test_every_promise_stays_with_who_and_why(one: Shop) -> None:
    with one.read() as db:
        number = next(iter(forecasts.promises(db, NOW).dates))
    to = SAMPLE_DAY + timedelta(days=30)
    office.change_promise(one, MANAGER, number, to, "casting comes late")
    report = reports.make(one, f"promise:{number}")
    first, *_, last = (line.cells for line in report.part("changes").lines)
    assert first[3] == "when taken in"
    assert last[1:] == (to, "OB", "casting comes late")
    with one.read() as db:
        assert forecasts.promises(db, NOW).dates[number].keeps > 0.9


def test_a_forecast_can_be_called_off(one: Shop) -> None:
    with pytest.raises(Cancelled):
        reports.make(one, "promises", lambda share: share < 0.3)


def test_on_the_command_line(one: Shop, sample_url: str, tmp_path: Path) -> None:
    shown = run("office", "--database", sample_url)
    assert shown.exit_code == 0, shown.stderr
    assert "Charged or unknown" in shown.stdout
    assert max(map(len, shown.stdout.splitlines())) <= 80
    backlog = run("office", "backlog", "--database", sample_url).stdout
    jobs = json.loads(run("office", "backlog", "--json", "--database", sample_url).stdout)["parts"]
    listed = [line for line in backlog.splitlines() if line.startswith("J-")]
    assert [line[:6] for line in listed] == [
        job["job"] for part in ("pressed", "others") for job in jobs[part]
    ]
    assert "BY WHOSE MOVE" in backlog
    between = backlog.split("BY WHOSE MOVE")[0].splitlines()
    assert not [line for line in between if line.startswith("  ")], "a job's line is one line"
    months = run("office", "money", "--csv", "--part", "months", "--database", sample_url)
    rows = list(csv.DictReader(io.StringIO(months.stdout)))
    assert len(rows) == 13
    assert set(rows[0]) == {"month", "opened", "closed", "approved", "warranty", "warranty_jobs"}
    load = json.loads(run("office", "load", "--json", "--database", sample_url).stdout)
    assert {"people", "benches", "one_more"} == set(load["parts"])
    page = tmp_path / "morning.pdf"
    assert run("office", "--pdf", "--out", str(page), "--database", sample_url).exit_code == 0
    assert len(PdfReader(page).pages) == 1
    assert "Quotes unanswered" in PdfReader(page).pages[0].extract_text()
    wrong = run("office", "weather", "--database", sample_url)
    assert "there are: morning" in wrong.stderr
    assert (
        "no part" in run("office", "load", "--csv", "--part", "x", "--database", sample_url).stderr
    )


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_on_the_screen_each_figure_opens_what_it_is_made_of(
    one: Shop, size: tuple[int, int]
) -> None:
    app = ShopApp(lambda: one, person="OB")
    async with app.run_test(size=size) as pilot:
        await pilot.press("f5")
        await see(pilot, "Office")
        await pilot.press("r")
        await see(pilot, "Morning of")
        if size != (80, 24):
            return
        await pilot.press("down", "enter")
        await see(pilot, "Office: Backlog: late")
        await pilot.press("escape", "down", "enter")
        await see(pilot, "Office: Promises: likely late", "80 %", "kept")
        await pilot.press("f8")
        await see(pilot, "days from today", "P promised")
        await pilot.press("escape", "enter")
        await see(pilot, "Every promise, with who changed it and why", "when taken in")
        await pilot.press("enter")
        await see(pilot, "Next open")
        await pilot.press("escape", "escape", "escape", "q")
        await see(pilot, "First-pass yield per test and model")
        await pilot.press("r")
        await see(pilot, "By model")
        await pilot.press("f8")
        await see(pilot, "Weibull fit")
        await pilot.press("escape", "t")
        await see(pilot, "Drift between visits")
        await pilot.press("n")
        await see(pilot, "Where it lies now", "Quote against actual")
        await pilot.press("l")
        await see(pilot, "One more technician")
        await pilot.press("b", "f8")
        await see(pilot, "days waited")


async def test_the_backlog_is_narrowed_by_plain_words(one: Shop) -> None:
    with one.read() as db:
        late = db.execute(
            text("SELECT count(*) FROM job WHERE closed_at IS NULL AND promised_on < :day"),
            {"day": SAMPLE_DAY.isoformat()},
        ).scalar_one()
    app = ShopApp(lambda: one, person="OB")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f5")
        await see(pilot, "Charged or unknown, treat as charged")
        await pilot.press("f7")
        await type_in(pilot, "late")
        await see(pilot, f"Find: late_   {late} found")
        await type_in(pilot, " over 7 zzz")
        await see(pilot, "nothing found")


async def test_the_help_of_a_line_says_its_section_s_caution_once(one: Shop) -> None:
    with one.read() as db:
        number = db.execute(
            text("SELECT max(number) FROM job WHERE stage = 'receipt' AND closed_at IS NULL")
        ).scalar_one()
    async with ShopApp(lambda: one, person="SK").run_test(size=(80, 24)) as pilot:
        await type_in(pilot, f"J-{number}\n")
        await see(pilot, "CAUTION  Every unit is charged", "Asks: ")
        await pilot.press("f1")
        screen = await see(pilot, "Help", "       Up  Line up")
        assert screen.count("Every unit is charged until") == 1
        assert "\n Asks: " in screen


async def test_a_new_promise_says_what_becomes_of_it_before_anybody_signs(one: Shop) -> None:
    with one.read() as db:
        number = min(forecasts.promises(db, NOW).dates)
    app = ShopApp(lambda: one, person="OB")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f5")
        await see(pilot, "Charged or unknown")
        await type_in(pilot, str(number), "down")
        await see(pilot, f"J-{number}")
        await pilot.press("p")
        await see(pilot, "> Promised for")
        await type_in(pilot, "+1", "enter")
        await see(pilot, "5 Mar is kept with", "Delays", "> Reason")


async def test_taking_in_a_core_offers_a_date_and_says_whom_it_delays(one: Shop) -> None:
    app = ShopApp(lambda: one, person="OB")
    async with app.run_test(size=(80, 24)) as pilot:
        await see(pilot, "Counter")
        await pilot.press("n")
        await see(pilot, "> Serial")
        await type_in(pilot, "XX-991", "enter")
        await type_in(pilot, "PA-016", "enter")
        shown = await see(pilot, "Date offered: 2026-", "95 %", "Delays")
        offered = shown.split("Date offered: ")[1][:10]
        await type_in(pilot, "C03", "enter")
        await type_in(pilot, "leaks", "enter", "enter", "enter", "enter")
        await see(pilot, "taken in: tag it")
    with one.read() as db:
        given = db.execute(text("SELECT promised_on FROM job ORDER BY id DESC LIMIT 1")).scalar()
    assert str(given) == offered
