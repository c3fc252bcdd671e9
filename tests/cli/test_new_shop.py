"""The README's walk to a first job, by its own commands, answers and keys; and what goes amiss."""

import re
import shlex
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import select

from shopdesk.desk.shop import Shop
from shopdesk.records import chain
from shopdesk.records.engine import open_record
from shopdesk.records.tables import Customer, Instrument, Job, Part, Unit
from shopdesk.tui.app import ShopApp
from tests.tui.driving import see, settled, type_in

from .shell import run, sentence
from .test_readme import README

BEGINS, ENDS = "<!-- a shop of one's own: a test walks this -->", "<!-- end of the walk -->"
_KEY = re.compile(r"\[(\w+)\]")


def shown(kind: str) -> str:
    """The walk's block of that kind, as the README shows it."""
    walk = README.read_text(encoding="utf-8").split(BEGINS)[1].split(ENDS)[0]
    found = re.search(rf"^```{kind}\n(.*?)^```$", walk, re.MULTILINE | re.DOTALL)
    assert found is not None
    return found[1]


ANSWERS = shown("ini")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder with the README's answers in it."""
    (tmp_path / "answers.txt").write_text(ANSWERS, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


async def test_the_readme_leads_from_an_empty_folder_to_a_first_job(here: Path) -> None:
    *commands, opening = [shlex.split(line)[1:] for line in shown("sh").splitlines()]
    for words in commands:
        result = run(*words)
        assert result.exit_code == 0, result.output
        assert "missing" not in result.stdout
    command, database = opening
    assert command == "open"
    with closing(open_record(database)) as record:
        async with ShopApp(lambda: Shop(record)).run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            for keys in shown("text").splitlines():
                for piece in re.split(r"( ?\[\w+\] ?)", keys):
                    key = _KEY.fullmatch(piece.strip())
                    if key:
                        await pilot.press(key[1].lower())
                    else:
                        await type_in(pilot, piece)
                    await settled(pilot)
            screen = await see(pilot, "J-1001  TP-04 0417  Two Sisters Trawling")
        assert "Identity plate" in screen
        with record.read() as db:
            job = select(Job.number, Unit.serial, Customer.code, Job.gas_state)
            joined = job.join(Unit, Unit.id == Job.unit_id).join(
                Customer, Customer.id == Job.customer_id
            )
            assert [tuple(row) for row in db.execute(joined)] == [(1001, "0417", "C01", "unknown")]
            assert chain.verify(db).broken is None
    assert "there are 1 jobs in this record" in sentence(run(*commands[0]), 3)


def test_broken_off_it_says_what_is_there_and_goes_on(here: Path, database_url: str) -> None:
    named = ("new-shop", "shop", "--db", database_url, "--answers", "answers.txt")
    before, model, after = ANSWERS.partition("model = ")
    Path("answers.txt").write_text(before, encoding="utf-8")
    stopped = run(*named)
    assert stopped.exit_code == 2
    assert "MK, OL may sign here" in stopped.stdout
    assert "model: the file of answers says nothing of it" in stopped.stderr
    slip = f"signs = MK 9999\n{before}{model}{after}"
    Path("answers.txt").write_text(slip, encoding="utf-8")
    assert "initials and PIN do not fit" in run(*named).stderr
    Path("answers.txt").write_text(slip.replace("9999", "4821"), encoding="utf-8")
    done = run(*named)
    assert done.exit_code == 0, done.output
    assert "In the record already: its rules; people: MK, OL." in done.stdout
    with closing(open_record(database_url)) as record, record.read() as db:
        assert chain.verify(db).broken is None
        on_hand = select(Part.number, Part.on_hand).order_by(Part.number)
        assert [tuple(row) for row in db.execute(on_hand)] == [("OR-219", 25), ("TP-0411", 2)]
        rated = select(Instrument.rating_pa).where(Instrument.code == "H-01")
        assert db.execute(rated).scalar_one() == pytest.approx(400e5)
    assert not Path("shop/answers-so-far.txt").exists()


@pytest.mark.parametrize(
    ("changed", "to", "said", "written"),
    [
        ("altitude = 340 m", "altitude = 40 km", "altitude: ", False),
        ("torque 1 =", "torqe 1 =", "no question asked for 'torqe 1'", True),
        ("35 to 60 mm", "35 to 60 bar", "expected a length", True),
        ("manager PIN = 4821", "manager PIN = 48", "a PIN has 4 to 12 digits", True),
    ],
)
def test_a_bad_answer_stops_before_its_step_is_written(
    here: Path, changed: str, to: str, said: str, written: bool
) -> None:
    Path("answers.txt").write_text(ANSWERS.replace(changed, to), encoding="utf-8")
    result = run("new-shop", "shop", "--answers", "answers.txt")
    assert result.exit_code == 2
    assert said in result.stderr
    assert Path("shop/shop.db").exists() is written


def test_one_goes_back_over_instruments_and_takes_away_a_file_named_by_mistake(here: Path) -> None:
    later = ("part ", "stock ", "pressure gauge", "bore gauge")
    first = [line for line in ANSWERS.splitlines() if not line.startswith(later)]
    Path("answers.txt").write_text("\n".join(first), encoding="utf-8")
    assert run("new-shop", "shop", "--answers", "answers.txt").exit_code == 0
    Path("parts.csv").write_text("number,name,cost,colour\nOR-9,Seal,1.20,black\n", "utf-8")
    files = ["parts.csv", "<", "-", "<", "parts.csv", "", "parts.csv", "<", "-", ""]
    gauges = ["", "<", "G-01; 0 to 400 bar; 0.1 bar; +300", "", ""]
    typed = ["MK 4821", *files, *gauges]
    done = run("new-shop", "shop", text="\n".join([*typed, ""]))
    assert done.exit_code == 0, done.output
    assert "Take in the 1 line of parts.csv? Not read: colour" in done.stdout
    assert "[parts.csv], - for nothing" in done.stdout
    assert "G-01 on the list of instruments." in done.stdout
    with closing(open_record("sqlite:///shop/shop.db")) as record, record.read() as db:
        assert db.execute(select(Part.number)).scalars().all() == ["OR-9"]
        codes = set(db.execute(select(Instrument.code)).scalars())
        assert "G-01" in codes
        assert "K-01" not in codes
