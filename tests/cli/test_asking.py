"""``shopdesk procedure new``: plain words, a bad answer asked again, nothing typed lost."""

from pathlib import Path

import pytest

from .shell import run, sentence

NEEDED = """
name = Piston accumulator 0.16 L
rated = 250 bar
precharge limit = 90 bar
target = 70 bar
gas volume = 0.16 L
"""
MORE = """
part 1 = OR-1; piston seal; 2; always; lips to the oil
part 2 = TP-P40; piston; 1; kept
reading 1 = bore of the tube; 40.00 to 40.06 mm; bore gauge; test sheet T-4 rev B
torque 1 = Gas cap; 82 N·m; 5 %; 1; 32 mm socket
test 1 = pressure after the hold; at least 245 bar
"""
TYPED = ["", "Clamp", "drawing 5", "drawing 5 rev 2", "no", "2000", "2000 psi", "A, B", "", "c"]


def test_a_file_of_answers_becomes_a_sound_document(tmp_path: Path) -> None:
    file, answers = tmp_path / "TP-016.toml", tmp_path / "answers.txt"
    answers.write_text(NEEDED + MORE, encoding="utf-8")
    assert run("procedure", "new", str(file), "--answers", str(answers)).exit_code == 0
    checked = run("procedure", "check", str(file))
    assert checked.stdout.startswith("TP-016.toml: sound. TP-016, revision A, ")
    shown = run("procedure", "show", str(file)).stdout
    assert "Bore of the tube  [reading, from 40.00 mm to 40.06 mm (test sheet T-4)]" in shown
    assert "Gas cap  [torque, 82 N·m ± 5 %]" in shown
    again = sentence(run("procedure", "new", str(file), "--answers", str(answers)), 2)
    assert "is there already" in again


def test_typed_answers_are_asked_again_kept_and_gone_back_to(tmp_path: Path) -> None:
    file = tmp_path / "CL-1.toml"
    broken = run("procedure", "new", str(file), text="\n".join([*TYPED, ""]))
    assert broken.exit_code == 2
    assert "expected where it stands and in which revision" in broken.stdout
    assert '"2000" has no unit' in broken.stdout
    assert "what was answered is kept in" in broken.stderr
    assert not file.exists()
    rest = ["A-1; seal; 3", "A-2", "ring", "<", "washer", "2", "", "", *[""] * 12]
    done = run("procedure", "new", str(file), text="\n".join([*rest, ""]))
    assert done.exit_code == 0, done.output
    assert "Going on where you stopped" in done.stdout
    assert "> 2000 psi" in done.stdout
    text = file.read_text(encoding="utf-8")
    assert 'id = "washer"\npart = "A-2"\nquantity = 2' in text
    assert 'name = "Clamp"' in text
    assert 'port = "B"\nleave = "capped"' in text
    assert [path.name for path in tmp_path.iterdir()] == ["CL-1.toml"]


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ("gas = no\nname = C", "rated: the file of answers says nothing of it"),
        ("gas = no\nname = C\nrated = 9 kg", "rated: "),
        (
            "gas = no\nname = C\nrated = 9 bar\ntorqe 1 = cap; 5 Nm",
            "no question asked for 'torqe 1'",
        ),
        (
            NEEDED + "torque 1 = cap; 5 Nm; 5 %; 1; bit; more",
            "torque 1: 6 pieces between semicolons",
        ),
        (NEEDED.replace("90 bar", "260 bar"), "no more than the rated pressure, 250 bar"),
        (NEEDED + "reading 1 = bore; 41 to 40 mm", "the low end is above the high one"),
        ("gas", "line 1: read 'gas', expected label = answer"),
        ("gas = no\ngas = yes", "line 2: 'gas' is answered above already"),
    ],
)
def test_a_bad_answer_of_a_file_is_named_and_nothing_written(
    answers: str, said: str, tmp_path: Path
) -> None:
    file, given = tmp_path / "X.toml", tmp_path / "answers.txt"
    given.write_text(answers, encoding="utf-8")
    assert said in run("procedure", "new", str(file), "--answers", str(given)).stderr
    assert not file.exists()
