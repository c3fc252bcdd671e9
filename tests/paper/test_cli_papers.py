"""``shopdesk paper`` from the command line."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from shopdesk.cli import main
from shopdesk.cli.papers import paper
from shopdesk.errors import BadInput, NotFound, Refused
from tests.desk.floor import Floor
from tests.paper.conftest import Page

At = Callable[..., Floor]


def run(floor: Floor, *words: str) -> Result:
    return CliRunner().invoke(paper, [*words, "--database", floor.shop.record.url])


def test_pdf_goes_to_the_file_named(at: At, tmp_path: Path) -> None:
    floor, out = at("shipment"), tmp_path / "paper.pdf"
    for words in (("tag",), ("tag", "--both"), ("pressure-tag",), ("certificate", "--letter")):
        done = run(floor, *words, f"J-{floor.number}", "--out", str(out))
        assert done.exit_code == 0, done.output
        assert str(out) in done.stderr
        assert f"J-{floor.number}" in Page(out.read_bytes()).text()


def test_without_a_name_it_goes_beside(
    at: At, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    floor = at("shipment")
    monkeypatch.chdir(tmp_path)
    run(floor, "certificate", str(floor.number))
    assert Page(Path(f"J-{floor.number}-certificate-release.pdf").read_bytes()).count == 1


def test_text_is_for_the_terminal(at: At) -> None:
    floor = at("vent")
    done = run(floor, "tag", "--both", "--text", f"j{floor.number}")
    assert "PRESSURE UNKNOWN - TREAT AS CHARGED" in done.stdout
    assert "Northern Ferry Yard" in done.stdout


def test_what_cannot_be_printed_is_said(at: At, tmp_path: Path) -> None:
    floor = at("vent")
    for words, kind, said in (
        (("tag", "nix"), BadInput, "J-1047"),
        (("tag", "J-4"), NotFound, "no job J-4"),
        (("certificate", f"J-{floor.number}"), Refused, "not released"),
        (("tag", f"J-{floor.number}", "--out", str(tmp_path)), BadInput, "Is a directory"),
    ):
        done = run(floor, *words)
        assert isinstance(done.exception, kind)
        assert said in str(done.exception)


def test_a_printed_code_is_held_against_the_record(at: At) -> None:
    floor = at("shipment")
    tag, url = f"J-{floor.number}", floor.shop.record.url
    printed = run(floor, "certificate", "--text", tag).stdout
    code, head = (re.search(word, printed) for word in (r"code (\S+)", r"([0-9a-f]{64})"))
    assert code is not None
    assert head is not None
    stands = CliRunner().invoke(
        main, ["verify", url, "--certificate", tag, code[1].lower(), "--head", head[1]]
    )
    assert stands.exit_code == 0, stands.output
    assert f"{tag}: the code is that of its release certificate" in stands.stdout
    other = code[1][:-1] + ("0" if code[1][-1] != "0" else "1")
    said = CliRunner().invoke(main, ["verify", url, "--certificate", tag, other])
    assert said.exit_code == 6
    assert f"no certificate the record gives has the code '{other}'" in said.stderr
