"""Every paper but tag and certificate: its words are the record's, its code is read back by an
independent decoder, its pages hold what they should."""

import re
import sys
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import insert, select, update

from shopdesk.desk import counter, keeping, purchases
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.paper import making, printer
from shopdesk.paper.blocks import COLUMNS, width
from shopdesk.paper.making import Made
from shopdesk.records.tables import ChainHead, Customer, Lot, Part, StockMove
from shopdesk.rules.answers import Road
from shopdesk.views import counting, picking, slips
from shopdesk.views.quotes import QuotedLine, told
from tests.desk.floor import Floor
from tests.desk.stocked import DATA
from tests.paper.conftest import Page

At = Callable[..., Floor]
LONG = "Αφοί Παπαδόπουλοι & Северная звезда, 水圧 " + "Hafenschleppschifffahrtsgesellschaft" * 4


def of_job(floor: Floor, name: str) -> Made:
    return making.of_job(floor.shop, name, floor.number)


def declined(floor: Floor) -> Floor:
    """Nothing is approved; the unit is closed up to go back, the shipment lines still open."""
    floor.quote()
    floor.answer(approved=False)
    assert floor.sheet.facts.road is Road.DECLINED
    return floor


def read(made: Made, *said: str, letter: bool = False) -> Page:
    """The page says each of these, and so does the text for a terminal, in its columns."""
    page, plain = Page(made.pdf(letter)), " ".join(made.text.split())
    for words in said:
        assert words in page.text(), (words, page.text())
        assert words in plain, (words, made.text)
    assert all(width(line) <= COLUMNS for line in made.text.splitlines())
    assert f"page 1 of {page.count}" in page.text(0)
    assert min(page.ink_mm()) > 8
    return page


@pytest.mark.parametrize("letter", [False, True])
@pytest.mark.parametrize("name", ["job-sheet", "quote", "pick-list"])
def test_a_job_s_paper_on_either_size_with_its_code(at: At, name: str, letter: bool) -> None:
    floor = at("parts")
    heading = floor.look().heading
    said = (heading.customer, heading.serial, "Dry Fork Test Shop", heading.complaint)
    page = read(of_job(floor, name), *said, letter=letter)
    assert page.codes() == [("Code128", f"J-{floor.number}")]
    assert page.size_mm == ((215.9, 279.4) if letter else (210.0, 297.0))
    assert "revision" in page.text()


def test_a_name_in_any_letters_is_kept_whole(at: At) -> None:
    floor = at("parts")
    with floor.shop.record.write() as db:
        db.execute(update(Customer).values(name=LONG, name_key="x"))
    for name in ("job-sheet", "quote", "pick-list"):
        page = Page(of_job(floor, name).pdf(False))
        assert "Παπαδόπουλοι & Северная звезда, [U+6C34][U+5727]" in page.text()
        assert "stand as their Unicode numbers" in page.text()
        assert "Hafenschleppschifffahrtsgesellschaft" * 4 in page.text().replace(" ", "")
        assert min(page.ink_mm()) > 8
    assert "水圧" in making.of_shop(floor.shop, "handover").text


# Hand-over -------------------------------------------------------------------------------------


def test_the_hand_over_names_every_unit_pressure_first(at: At) -> None:
    floor = at("teardown")
    vented = floor.number
    floor.clock.on(hours=1)
    unknown = floor.take_in(serial="K-2")
    charged = floor.take_in("GT-1", serial="K-3")
    floor.go("vent")
    floor.hiss()
    plain = floor.take_in("PT-1", serial="K-4")
    page = read(
        making.of_shop(floor.shop, "handover"),
        "1 charged, 1 of unknown pressure: treat 2 as charged. 1 vented, 1 without gas.",
        "hiss",
        "at the first turn",
        floor.value(ChainHead.hash),
    )
    text = page.text()
    assert "UNKNOWN: TREAT AS CHARGED" in text
    # dangerous ones come first: the numbers as they stand in the table, behind the incidents
    table = text[text.index("Waits for") :]
    order = [int(number) for number in re.findall(r"J-(\d+)", table)]
    assert {order[0], order[1]} == {unknown, charged}
    assert set(order) == {vented, unknown, charged, plain}
    for number in order:
        heading = floor.look(number).heading
        assert heading.waiting_for in text
        assert heading.waiting_on in text
        assert heading.serial in text


def test_an_empty_house_is_said(floor: Floor) -> None:
    read(making.of_shop(floor.shop, "handover"), "No unit is in the house.")


# Packing slip ----------------------------------------------------------------------------------


def test_a_declined_unit_s_slip_lists_its_bags_and_the_fee(at: At) -> None:
    floor = declined(at("decision"))
    with pytest.raises(Refused, match="lists what is packed") as caught:
        of_job(floor, "packing-slip")
    assert "declined.bagged" in caught.value.missing
    floor.go("done")
    page = read(
        of_job(floor, "packing-slip"),
        "one bag of seals",
        f"#{floor.entry('declined.bagged')}",
        "Inspection fee due: 50.00 EUR",
        "GOES BACK AS IT IS",
        "DO NOT PRESSURISE",
        "Not yet handed over",
    )
    assert page.codes() == [("Code128", f"J-{floor.number}")]
    floor.clock.on(days=1)
    dearer(floor)
    read(of_job(floor, "packing-slip"), "Inspection fee due: 50.00 EUR (shop rules 1)")
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Freight")
    read(of_job(floor, "packing-slip"), "by Coast Freight")


def dearer(floor: Floor) -> None:
    """The shop asks more for looking at a unit, and answers sooner."""
    text = (DATA / "shop.toml").read_text()
    for old, new in (
        ('revision = "1"', 'revision = "2"'),
        ('inspection_fee = "50.00"', 'inspection_fee = "75.00"'),
        ("answer_days = 14", "answer_days = 5"),
        ('name = "Dry Fork Test Shop"', 'name = "Dry Fork Test Works"'),
    ):
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    keeping.adopt_document(floor.shop.laying_out(), "MM", "shop", text)


def test_printed_again_by_other_rules_a_paper_says_the_same(at: At) -> None:
    """What was promised in the quote is due, whatever the shop asks for now."""
    floor = declined(at("decision"))
    quote = of_job(floor, "quote").text
    floor.go("done")
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Freight")
    slip = of_job(floor, "packing-slip").text
    floor.clock.on(days=1)
    dearer(floor)
    assert of_job(floor, "packing-slip").text == slip
    assert of_job(floor, "quote").text == quote
    assert "inspection fee of 50.00 EUR" in quote


def test_a_repaired_unit_s_slip_lists_ports_and_what_is_fitted(at: At) -> None:
    floor = at("shipment")
    floor.go("done")
    use_by = floor.value(Lot.use_by, Lot.number == "S-OLD")
    made = of_job(floor, "packing-slip")
    page = read(made, "vented, let down by TT, seen by UU", "capped", "S-OLD")
    assert use_by.isoformat() in page.text()
    assert "Inspection fee" not in page.text()
    assert "GOES BACK" not in page.text()
    with floor.shop.read() as db:
        found = slips.slip(db, floor.number, floor.clock())
    answers = {a.id: a for state in floor.sheet.lines for a in state.given.values()}
    for one in (*found.bags, *found.ports):
        assert [answers[entry].answer for entry in one.entries] == [one.value]


def test_a_part_shipment_s_slip_says_what_of_the_order_is_still_here(floor: Floor) -> None:
    first = floor.take_in(serial="K-1", reference="PO 17")
    second = floor.take_in(serial="K-2", reference="po 17 ")
    floor.number = first
    floor.go("done")
    read(
        of_job(floor, "packing-slip"),
        "Part shipment of order PO 17, unit 1 of 2.",
        f"Still in the shop: J-{second} GT-1 K-2.",
    )
    counter.hand_over(floor.shop, "CC", first, "Coast Freight")
    left = of_job(floor, "packing-slip").text
    assert "PO 17" in of_job(floor, "certificate").text
    floor.number = second
    floor.go("done")
    read(
        of_job(floor, "packing-slip"),
        "Order PO 17 is complete with this unit, 2 in all.",
        f"Left before: J-{first} GT-1 K-1.",
    )
    counter.hand_over(floor.shop, "CC", second, "Coast Freight")
    floor.take_in(serial="K-3", reference="PO 17")
    floor.number = first
    assert of_job(floor, "packing-slip").text == left  # what was so when it went


# Quote -----------------------------------------------------------------------------------------


def test_the_quote_says_the_total_and_until_when_it_holds(at: At) -> None:
    floor = at("decision")
    with pytest.raises(NotFound, match="no quote yet"):
        of_job(floor, "quote")
    asked = floor.quote().sheet.facts.quote
    assert asked is not None
    until = (floor.clock() + timedelta(days=14)).astimezone().date()
    page = read(
        of_job(floor, "quote"),
        f"Total {asked.total_cents / 100:,.2f} EUR",
        f"holds until {until.isoformat()}",
        "inspection fee of 50.00 EUR",
    )
    assert "margin" not in page.text().casefold()
    amounts = re.findall(r"([\d,]+\.\d\d)", page.text().split("Quantity")[1].split("Total")[0])
    assert sum(round(float(a.replace(",", "")) * 100) for a in amounts) == asked.total_cents
    floor.answer(approved=True)
    read(of_job(floor, "quote"), "Answered: approved by Ole Yard")


@given(st.lists(st.integers(0, 10**6), max_size=12), st.integers(0, 10**6), st.integers(0, 10**6))
def test_the_margin_is_spread_over_the_parts_to_the_cent(
    cents: list[int], margin: int, hours: int
) -> None:
    lines = [QuotedLine("part", "p", 1, c) for c in cents]
    lines.append(QuotedLine("labour", "build", 1.0, hours))
    if sum(cents):
        lines.append(QuotedLine("margin", "m", 1, margin))
    found = [line.cents for line in told(lines)]
    assert len(found) == len(cents) + 1
    assert sum(found) == sum(line.cents for line in lines)
    assert found[-1] == hours
    assert all(after >= before for after, before in zip(found, cents, strict=False))


# Job sheet -------------------------------------------------------------------------------------


def test_the_job_sheet_has_every_open_line_and_its_caution(at: At) -> None:
    floor = at("vent")
    text = Page(of_job(floor, "job-sheet").pdf(False)).text()
    flat = " ".join(of_job(floor, "job-sheet").text.split())
    assert "UNKNOWN: TREAT AS CHARGED" in text
    for state in floor.sheet.lines:
        if state.open and state.line.section in ("vent", "teardown", "build", "proof"):
            assert state.line.text in text, state.line.key
        if state.line.section == "receipt":
            assert f"{state.line.text} " not in flat.split("CAUTION")[-1]
    for caution in floor.sheet.shop.cautions_for("vent"):
        assert " ".join(caution.split()) in text
    assert "115.0 bar to 122.0 bar (test sheet 16 rev A)" in text


# Pick list -------------------------------------------------------------------------------------


def test_the_pick_list_takes_first_what_is_to_be_used_first(at: At) -> None:
    floor = at("parts")
    with floor.shop.read() as db:
        found = picking.pick_list(db, floor.number, floor.clock())
    lots = {pick.lot for pick in found.picks if pick.part == "SEAL-N90"}
    assert lots == {"S-OLD"}  # S-GONE is past its day, S-NEW goes later
    use_by = floor.value(Lot.use_by, Lot.number == "S-OLD")
    read(of_job(floor, "pick-list"), "S-OLD", use_by.isoformat())
    for pick in found.picks:  # what it says can be issued
        key = next(
            s.line.key
            for s in floor.sheet.section("parts")
            if s.open and getattr(s.line, "part", "") == pick.part
        )
        floor.say(key, pick.lot)
    with floor.shop.read() as db:
        assert picking.pick_list(db, floor.number, floor.clock()).picks == ()


def test_what_is_short_or_promised_to_another_is_said(at: At) -> None:
    floor = at("decision")
    with floor.shop.record.write() as db:  # another job holds all but nothing of the seals
        part = db.execute(select(Part.id, Part.on_hand).where(Part.number == "SEAL-N90")).one()
        db.execute(update(Part).where(Part.id == part.id).values(reserved=part.on_hand))
        db.execute(
            insert(StockMove).values(
                kind="reserve",
                part_id=part.id,
                on_hand_change=0,
                reserved_change=part.on_hand,
                person_id=1,
                at=floor.clock(),
            )
        )
    floor.go("parts")
    page = read(of_job(floor, "pick-list"), "SHORT on the shelf: SEAL-N90.")
    assert "S-OLD" not in page.text()


# Orders and counts -----------------------------------------------------------------------------


def test_an_order_says_what_was_ordered_and_asks_for_cure_dates(floor: Floor) -> None:
    number = purchases.order(floor.shop, "MM", "S01", (("SEAL-N90", 25), ("WASHER", 10)))
    said = (f"Order {number}", "Ring Supply", "SEAL-N90", "25", "100.00", "Total 115.00 EUR")
    read(making.of_shop(floor.shop, "order", str(number)), *said, "cure date (ISO 2230)")
    for wrong in ("", "x", "99999", "-1"):
        with pytest.raises(NotFound):
            making.of_shop(floor.shop, "order", wrong)


def test_a_count_sheet_names_every_lot_and_no_figure(floor: Floor) -> None:
    made = making.of_shop(floor.shop, "count-sheet")
    read(made, "S-OLD", "S-NEW", "S-GONE", "V-1", "W-1", "P-1", "B-1")
    with floor.shop.read() as db:
        lots = {lot.lot: lot for lot in counting.count_sheet(db, "", floor.clock()).lots}
    on_hand = {"S-OLD": 20, "V-1": 10, "P-1": 2}
    for lot, pieces in on_hand.items():
        row = next(line for line in made.text.splitlines() if f" {lot} " in f"{line} ")
        use_by = lots[lot].use_by
        rest = row.replace(lot, "").replace(lots[lot].part, "").replace(lots[lot].description, "")
        assert str(pieces) not in rest.replace(use_by.isoformat() if use_by else "", "").split()
    with pytest.raises(NotFound, match="no bin that begins with 'Z9'"):
        making.of_shop(floor.shop, "count-sheet", "Z9")


# The printer -----------------------------------------------------------------------------------


def script(folder: Path, body: str) -> tuple[str, ...]:
    path = folder / "prints.py"
    path.write_text(body)
    return sys.executable, str(path)


def test_the_printer_gets_the_file_that_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    path = printer.keep(b"%PDF-x", "a.pdf")
    command = script(tmp_path, "import shutil, sys; shutil.copy(sys.argv[1], sys.argv[1] + '.out')")
    assert str(path) in printer.send(path, command)
    assert Path(f"{path}.out").read_bytes() == b"%PDF-x"


def test_a_printer_that_fails_says_so_and_where_the_paper_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.pdf"
    path.write_bytes(b"%PDF-x")
    refuses = script(tmp_path, "import sys; sys.exit('out of\\n paper')")
    with pytest.raises(BadInput, match=r"refused it: out of paper; .*a\.pdf"):
        printer.send(path, refuses)
    with pytest.raises(BadInput, match=r"nowhere could not be run .*a\.pdf"):
        printer.send(path, ("/nowhere",))
    monkeypatch.setattr(printer, "PATIENCE_S", 0.2)
    with pytest.raises(BadInput, match=r"did not answer .*a\.pdf"):
        printer.send(path, script(tmp_path, "import time; time.sleep(5)"))
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(BadInput, match=r"lp could not be run .*a\.pdf"):
        printer.send(path)
    assert path.read_bytes() == b"%PDF-x"
