"""Unit and pressure-state tags: what the record says, as large as it has to be, and its code."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from shopdesk.paper import tags
from shopdesk.paper.blocks import COLUMNS, width
from shopdesk.paper.press import LACKING
from tests.desk.floor import Floor
from tests.paper.conftest import Page

At = Callable[..., Floor]

LONG = "Пароходство «Северная звезда» и Αφοί Παπαδόπουλοι, 水圧 workshop " * 3


def test_unit_tag_says_what_the_record_says(at: At) -> None:
    heading = at("vent").look().heading
    page = Page(tags.unit_tag(heading))
    for said in (
        heading.model,
        heading.model_name,
        heading.serial,
        heading.customer,
        heading.customer_code,
        heading.promised_on.isoformat(),
        heading.complaint,
    ):
        assert said in page.text()
        assert said in tags.unit_text(heading)
    assert f"J-{heading.number}" in page.text()


@pytest.mark.parametrize("letter", [False, True])
def test_codes_of_tags_are_read_from_the_page(at: At, letter: bool) -> None:
    view = at("vent").look()
    code = ("Code128", f"J-{view.heading.number}")
    assert Page(tags.unit_tag(view.heading, letter=letter)).codes() == [code]
    assert Page(tags.pressure_tag(view, letter=letter)).codes() == [code]
    assert Page(tags.both(view, letter=letter)).codes() == [code, code]


def test_paper_sizes(at: At) -> None:
    """A4: ISO 216; Letter: 8 1/2 by 11 inches."""
    heading = at("vent").look().heading
    assert Page(tags.unit_tag(heading)).size_mm == (210.0, 297.0)
    assert Page(tags.unit_tag(heading, letter=True)).size_mm == (215.9, 279.4)


@pytest.mark.parametrize(
    ("section", "said"),
    [
        ("vent", "PRESSURE UNKNOWN - TREAT AS CHARGED"),
        ("teardown", "VENTED - GAS SIDE LET DOWN"),
        ("hold", "CHARGED - GAS UNDER PRESSURE"),
    ],
)
def test_pressure_tag_follows_the_record(at: At, section: str, said: str) -> None:
    view = at(section).look()
    page = Page(tags.pressure_tag(view)).text()
    assert said in tags.pressure_text(view)
    assert all(words in page for words in said.split(" - "))


def test_vented_tag_names_who_and_when(at: At) -> None:
    floor = at("teardown")
    view = floor.look()
    signed = floor.state("vent.seen").given["signed"]
    when = f"{signed.at.astimezone():%Y-%m-%d %H:%M}"
    said = f"vented by TT, witnessed by UU, at {when}"
    assert said in Page(tags.pressure_tag(view)).text()
    assert said in tags.pressure_text(view)


def test_a_hiss_makes_the_tag_say_charged(at: At) -> None:
    floor = at("teardown")
    floor.hiss()
    assert "CHARGED" in Page(tags.pressure_tag(floor.look())).text()
    assert "vented by" not in tags.pressure_text(floor.look())


def test_a_model_without_gas_says_so(at: At) -> None:
    assert "NO GAS" in Page(tags.pressure_tag(at("teardown", "PT-1").look())).text()


def test_long_and_foreign_names_stay_on_the_tag(at: At) -> None:
    heading = replace(
        at("vent").look().heading, customer=LONG, serial="K" * 60, complaint="sags " * 80
    )
    page = Page(tags.unit_tag(heading))
    text = page.text()
    assert page.count == 1
    assert "Пароходство" in text
    assert "Παπαδόπουλοι" in text
    assert "[U+6C34][U+5727]" in text
    assert LACKING in text
    assert "K" * 60 in text.replace(" ", "")
    assert min(page.ink_mm()) > 4
    assert page.codes() == [("Code128", f"J-{heading.number}")]
    assert all(width(line) <= COLUMNS for line in tags.unit_text(heading).splitlines())


def test_control_characters_reach_neither_printer_nor_terminal(at: At) -> None:
    heading = replace(at("vent").look().heading, customer="Yard\x1b[2J\u202e")
    assert "[U+001B]" in Page(tags.unit_tag(heading)).text()
    shown = tags.unit_text(heading)
    assert "[U+001B]" in shown
    assert "[U+202E]" in shown
    assert "\x1b" not in shown


def test_the_same_tag_has_the_same_bytes(at: At) -> None:
    view = at("vent").look()
    assert tags.both(view) == tags.both(view)
