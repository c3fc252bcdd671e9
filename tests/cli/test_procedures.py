"""``shopdesk procedure``: documents checked, shown and described."""

import json
from pathlib import Path

import pytest
from click.testing import Result

from shopdesk.desk.shop import Shop
from shopdesk.procedure import reference_text
from shopdesk.records.engine import open_record
from tests.desk import stocked

from .shell import run, sentence

DOCUMENT = Path(__file__).parent.parent / "procedure" / "base.toml"
SAMPLES = sorted((Path(__file__).parents[2] / "sample_shop" / "procedures").glob("*.toml"))


def spoilt(folder: Path, *changes: tuple[str, str]) -> Path:
    """The document with some of its text replaced."""
    written = DOCUMENT.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in written
        written = written.replace(old, new, 1)
    path = folder / "spoilt.toml"
    path.write_text(written, encoding="utf-8")
    return path


def test_sound_documents_are_said_to_be_sound() -> None:
    result = run("procedure", "check", *map(str, SAMPLES))
    assert result.exit_code == 0
    assert result.stderr == ""
    lines = [line for line in result.stdout.splitlines() if not line.startswith("warning: ")]
    assert [line.split(":")[0] for line in lines] == [path.name for path in SAMPLES]
    assert all(": sound. " in line for line in lines)


def test_every_fault_is_a_line_with_its_path(tmp_path: Path) -> None:
    path = spoilt(tmp_path, ('"180 bar"', '"180 kg"'), ('target = "52 bar"', 'target = "52 Nm"'))
    result = run("procedure", "check", str(path), str(DOCUMENT))
    assert result.exit_code == 2
    faults = [line for line in result.stdout.splitlines() if line.startswith("spoilt.toml: ")]
    assert any(line.startswith("spoilt.toml: rated_pressure") for line in faults)
    assert any(line.startswith("spoilt.toml: gas_charge.target") for line in faults)
    assert f"{DOCUMENT.name}: sound. TV-3, revision C" in result.stdout
    assert result.stderr == ("shopdesk: 1 of 2 documents cannot be used; nothing was changed.\n")


def test_a_doubt_is_shown_and_the_document_is_still_sound(tmp_path: Path) -> None:
    extra = '[[kit]]\nid = "spare"\npart = "TV-X"\nquantity = 1\npolicy = "always"\n\n[[kit]]'
    path = spoilt(tmp_path, ("[[kit]]", extra))
    result = run("procedure", "check", str(path))
    assert result.exit_code == 0
    assert "warning: spoilt.toml: kit[" in result.stdout


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"format = ", b"[[[", b"format = 99\n"])
def test_what_is_no_document_is_told(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "none.toml"
    path.write_bytes(content)
    assert run("procedure", "check", str(path)).exit_code == 2
    assert "none.toml" in sentence(run("procedure", "show", str(path)), 2)


def test_a_document_that_is_not_there_is_told(tmp_path: Path) -> None:
    missing = str(tmp_path / "none.toml")
    result = run("procedure", "check", missing)
    assert result.exit_code == 2
    assert "none.toml: cannot be read" in result.stdout
    assert "cannot be read" in sentence(run("procedure", "show", missing), 2)
    assert "cannot be read" in sentence(run("procedure", "show", str(tmp_path)), 2)


def test_the_format_is_the_reference_page() -> None:
    assert run("procedure", "format").stdout == f"{reference_text()}\n"


@pytest.mark.parametrize("path", [DOCUMENT, *SAMPLES], ids=lambda path: path.name)
def test_a_document_is_shown_line_by_line(path: Path) -> None:
    from shopdesk.procedure import load
    from shopdesk.rules.generated import laid_out

    procedure = load(path)
    shown = run("procedure", "show", str(path)).stdout
    assert shown.startswith(f"{procedure.model}  {procedure.name}  revision {procedure.revision}\n")
    on_one_line = " ".join(shown.split())
    lines = laid_out(procedure)
    for number, line in enumerate(lines, 1):
        assert f"{number} {' '.join(line.text.split())}" in on_one_line
        assert " ".join(line.caution.split()) in on_one_line
    assert max(map(len, shown.splitlines())) <= 100
    heads = [line.lower() for line in shown.splitlines() if line.isupper() and line.isalpha()]
    assert heads == list(dict.fromkeys(line.section for line in lines))


def test_an_export_comes_back_as_it_was_and_a_revision_is_brought_in(
    sqlite_url: str, tmp_path: Path
) -> None:
    def ran(*words: str) -> Result:
        return run("procedure", *words, "--database", sqlite_url)

    record = open_record(sqlite_url)
    stocked.fill(Shop(record))
    record.close()
    out = tmp_path / "out.toml"
    assert ran("export", "gt-1", "-o", str(out)).exit_code == 0
    assert out.read_bytes() == (stocked.DATA / "gas.toml").read_bytes()
    again = ran("import", str(out))
    assert again.exit_code == 0
    assert "on record with this very text; nothing was changed" in again.stderr
    written = out.read_text(encoding="utf-8")
    for old, new in (('revision = "A"\n', 'revision = "B"\n'), ("40.060 mm", "40.050 mm")):
        written = written.replace(old, new, 1)
    out.write_text(written, encoding="utf-8")
    assert "what changed and why?" in ran("import", str(out), "--sign", "TT 3333").stderr
    done = ran("import", str(out), "--sign", "TT 3333", "--why", "bores wear into the rings")
    assert done.stderr.endswith("waits: `shopdesk procedure approve GT-1 B`\n"), done.stderr
    assert "at most: 40.060 mm; now 40.050 mm" in done.stdout
    assert ran("export", "GT-1").stdout_bytes != out.read_bytes()
    listed = json.loads(ran("list", "awaits approval", "--json").stdout)
    assert [(row["revision"], row["by"], row["why"]) for row in listed] == [
        ("B", "TT", "bores wear into the rings")
    ]
    assert "takes a manager" in ran("approve", "GT-1", "B", "--sign", "TT 3333").stderr
    assert ran("approve", "GT-1", "B", "--sign", "MM 1111").exit_code == 0
    assert ran("export", "GT-1").stdout_bytes == out.read_bytes()
    compared = json.loads(ran("compare", "GT-1", "A", "B", "--json").stdout)
    assert compared["counts"]["changed"] == len(compared["lines"]) == 1
    assert compared["lines"][0]["differs"] == [
        {"field": "at most", "was": "40.060 mm", "now": "40.050 mm"}
    ]
    assert "known here: GT-1" in sentence(ran("compare", "GT-7", "A", "B"), 4)
