"""The certificate says what the record holds, once and for all, on one page."""

import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import asdict, replace
from datetime import timedelta

import pytest

from shopdesk.desk import counter
from shopdesk.errors import Refused
from shopdesk.paper import certificate as paper
from shopdesk.paper.blocks import COLUMNS, width
from shopdesk.records import chain
from shopdesk.records.tables import Entry, Event, Lot
from shopdesk.rules.answers import Answer
from shopdesk.views import certificates, sheets
from shopdesk.views.certificates import CertificateFacts
from shopdesk.views.codes import code
from tests.desk.floor import Floor
from tests.paper.conftest import Page

At = Callable[..., Floor]


def facts_of(floor: Floor, issue: str | None = None, *, days: float = 0) -> CertificateFacts:
    """The certificate as asked for so many days later."""
    with floor.shop.read() as db:
        return certificates.certificate(
            db, floor.number, floor.clock() + timedelta(days=days), issue
        )


def shipped(floor: Floor) -> Floor:
    floor.go("done")
    counter.hand_over(floor.shop, "CC", floor.number, "Coast Freight")
    return floor


def entries_in(value: object) -> set[int]:
    """Every entry number anywhere in the facts."""
    if isinstance(value, dict):
        own = set(value.get("entries", ())) | set(value.get("charge_entries", ()))
        return own.union(*(entries_in(each) for each in value.values()))
    if isinstance(value, list | tuple):
        return set().union(*(entries_in(each) for each in value))
    return set()


def recorded(floor: Floor) -> dict[int, Answer]:
    with floor.shop.read() as db:
        return {a.id: a for a in sheets.answers(db, floor.look().heading.job_id)}


def test_every_value_points_to_an_entry_that_says_it(at: At) -> None:
    floor = shipped(at("shipment"))
    facts, answers = facts_of(floor), recorded(floor)
    assert entries_in(asdict(facts)) <= set(answers)
    groups = (facts.received, facts.settings, facts.torques, facts.tests, facts.charging)
    for figure in (*(each for group in groups for each in group), *facts.ports):
        own = [answers[entry] for entry in figure.entries]
        assert own
        assert {a.line for a in own} == {figure.line}
        judged = {a.limit_text for a in own if a.limit_text}
        assert figure.limit in judged | {""}
        assert bool(judged) == bool(figure.limit)


def test_the_readings_are_those_of_the_record(at: At) -> None:
    facts = facts_of(shipped(at("shipment")))
    by_line = {each.line: each for each in (*facts.received, *facts.tests, *facts.charging)}
    assert by_line["vent.pressure"].value == "62.0 bar at 21.0 °C"
    assert by_line["vent.pressure"].instruments == ("G-01",)
    assert by_line["teardown.oil"].value == "6.0 mL"
    assert by_line["proof.held"].value == "118.0 bar"
    assert by_line["proof.held"].verdict == "within"
    assert by_line["hold.leak"].value == "69.8 bar at 20.0 °C, lost 0.2 bar"
    assert facts.charge == "69.8 bar at 20.0 °C"
    assert (facts.gas_state, facts.gas) == ("vented", "nitrogen")
    assert facts.vent is not None
    assert (facts.vent.by, facts.vent.witness) == ("TT", "UU")


def test_lots_and_instruments_carry_their_dates(at: At) -> None:
    floor = shipped(at("shipment"))
    facts = facts_of(floor)
    oldest = facts.oldest_cure
    assert oldest is not None
    assert (oldest.lot, oldest.cured, oldest.pieces) == ("S-OLD", "2Q2021", 2)
    assert oldest.use_by == floor.value(Lot.use_by, Lot.number == "S-OLD")
    due = {tool.code: tool.due for tool in facts.instruments}
    assert {"G-01", "BG-1", "W-01", "H-1", "R-1"} <= set(due)
    assert due["G-01"] is not None
    assert due["H-1"] is None


def test_a_correction_takes_the_place_of_what_it_corrects(at: At) -> None:
    floor = at("release")
    floor.correct("proof.held", "117 bar")
    facts = facts_of(shipped(floor))
    held = next(each for each in facts.tests if each.line == "proof.held")
    assert held.value == "117.0 bar"


def test_an_outside_reading_stands_with_its_concession(at: At) -> None:
    floor = at("teardown.oil")
    floor.say("teardown.oil", "14 mL")
    floor.say("teardown.oil", "ask customer")
    floor.concede("teardown.oil")
    facts = facts_of(shipped(floor))
    oil = next(each for each in facts.received if each.line == "teardown.oil")
    assert (oil.value, oil.verdict, oil.conceded) == ("14.0 mL", "outside", True)
    conceded = facts.concessions[0]
    assert (conceded.value, conceded.customer) == ("14.0 mL", "Ole Yard")
    text = Page(paper.pdf(facts)).text()
    assert "OUTSIDE, conceded" in text
    assert "fit for a season" in text


def test_before_release_there_is_no_certificate(at: At) -> None:
    with pytest.raises(Refused, match="not released") as caught:
        facts_of(at("hold"))
    assert any(key.startswith("release.") for key in caught.value.missing)


def test_a_declined_unit_gets_none(at: At) -> None:
    floor = at("decision")
    floor.quote()
    floor.answer(approved=False)
    with pytest.raises(Refused, match="declined"):
        facts_of(floor)


# The same for ever -----------------------------------------------------------------------------


def test_each_issue_stays_as_it_was(at: At) -> None:
    """Later work, a hiss, the next day or the next year change nothing of what was issued."""
    floor = at("shipment")
    release = facts_of(floor)
    assert release.issue == "release"
    assert release.gas_state == "charged"
    floor.hiss()
    assert facts_of(floor, days=3) == release
    shipped(floor)
    shipment = facts_of(floor)
    assert shipment.issue == "shipment"
    assert facts_of(floor, "release", days=400) == release
    assert facts_of(floor, days=400) == shipment
    assert code(shipment) != code(release)


def test_a_correction_after_release_takes_the_certificate_back(at: At) -> None:
    """Until the work is released anew, then as another certificate with another code."""
    floor = at("shipment")
    before = facts_of(floor)
    floor.correct("proof.held", "116 bar")
    with pytest.raises(Refused, match="not released"):
        facts_of(floor)
    floor.go("shipment")
    after = facts_of(floor)
    assert not paper.matches(after, code(before))
    assert "116.0 bar" in Page(paper.pdf(after)).text()
    assert sum(each.label == "Released" for each in after.signatures) == 1


def test_a_signature_taken_back_is_not_shown(at: At) -> None:
    """The vent's witness signs again when a reading below was corrected; the vent record before
    shipment is another, with its own witness."""
    floor = at("teardown")
    floor.correct("vent.zero", "0.1 bar")
    floor.go("shipment")
    seen = [each for each in facts_of(floor).signatures if each.label.endswith("seen zero")]
    assert len(seen) == 1
    assert (
        len(facts_of(shipped(floor)).signatures) == len(facts_of(floor, "release").signatures) + 1
    )


def test_its_head_stands_in_the_chain(at: At) -> None:
    floor = shipped(at("shipment"))
    for issue in ("release", "shipment"):
        facts = facts_of(floor, issue)
        assert facts.head == floor.value(Event.hash, Event.id == facts.event)
        with floor.shop.read() as db:
            assert chain.verify(db, printed=facts.head).broken is None


def test_printed_again_it_has_the_same_bytes(at: At) -> None:
    """In another process too, with another order of sets and hashes."""
    facts = facts_of(shipped(at("shipment")))
    once = paper.pdf(facts)
    assert paper.pdf(facts) == once
    script = (
        "import pickle, sys; from shopdesk.paper import certificate; "
        "sys.stdout.buffer.write(certificate.pdf(pickle.load(sys.stdin.buffer)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        input=pickle.dumps(facts),
        capture_output=True,
        check=True,
        env={"PYTHONHASHSEED": "4711", "TZ": "Pacific/Auckland"},
    )
    assert done.stdout == once


# On paper --------------------------------------------------------------------------------------


def test_words_of_the_page_are_those_of_the_record(at: At) -> None:
    floor = shipped(at("shipment"))
    facts, answers = facts_of(floor), recorded(floor)
    text = Page(paper.pdf(facts)).text()
    plain = " ".join(paper.text(facts).split())
    for figure in (*facts.received, *facts.settings, *facts.torques, *facts.tests):
        assert f"{figure.label} {figure.value}" in text or f"{figure.label}: {figure.value}" in text
    for line, slot in (("proof.held", "value"), ("build.gland", "p1"), ("hold.leak", "value")):
        entry = floor.entry(line, slot)
        assert answers[entry].answer in text
        assert answers[entry].answer in plain
    head = (facts.shop, facts.serial, facts.customer, facts.tag, facts.head, code(facts))
    for said in (*head, "Coast Freight", "VENTED, NO GAS PRESSURE", "S-OLD", "2Q2021"):
        assert said in text
        assert said in plain
    assert Page(paper.pdf(facts)).codes() == [("Code128", facts.tag)]


def test_a_charged_unit_says_so_with_pressure_temperature_and_cautions(at: At) -> None:
    """The release of a unit that is charged; a vented one carries none of it."""
    floor = at("shipment")
    page, plain = Page(paper.pdf(facts_of(floor))), paper.text(facts_of(floor))
    assert page.count == 1
    for text in (page.text(), " ".join(plain.split())):
        assert "THIS UNIT IS CHARGED with nitrogen, 69.8 bar at 20.0 °C" in text
        assert "prove zero on both sides" in text
        assert "never oxygen or air" in text
    assert "THIS UNIT IS CHARGED" not in paper.text(facts_of(shipped(floor)))


@pytest.mark.parametrize("letter", [False, True])
def test_an_ordinary_accumulator_takes_one_page(at: At, letter: bool) -> None:
    page = Page(paper.pdf(facts_of(shipped(at("shipment"))), letter=letter))
    assert page.count == 1
    assert "page 1 of 1" in page.text()
    assert min(page.ink_mm()) > 8


def test_a_long_one_has_numbered_pages_that_lose_nothing(at: At) -> None:
    facts = facts_of(shipped(at("shipment")))
    one = facts.tests[0]
    many = tuple(
        replace(one, label=f"Reading number {n}", measured=True, value=f"{n}.5 bar")
        for n in range(400)
    )
    page = Page(paper.pdf(replace(facts, tests=many)))
    assert page.count > 2
    for n in range(page.count):
        assert f"page {n + 1} of {page.count}" in page.text(n)
        assert facts.tag in page.text(n)
    text = page.text()
    assert all(f"Reading number {n} {n}.5 bar" in text for n in range(400))


def test_long_and_foreign_names(at: At) -> None:
    name = "Αφοί Παπαδόπουλοι & Северная звезда, 水圧 " + "Hafenschleppschifffahrtsgesellschaft" * 4
    facts = replace(facts_of(shipped(at("shipment"))), customer=name, complaint="läuft ab " * 40)
    page = Page(paper.pdf(facts))
    assert page.count == 1
    assert min(page.ink_mm()) > 8
    text = page.text()
    assert "Παπαδόπουλοι & Северная звезда, [U+6C34][U+5727]" in text
    assert "stand as their Unicode numbers" in text
    assert "Hafenschleppschifffahrtsgesellschaft" * 4 in text.replace(" ", "")
    lines = paper.text(facts).splitlines()
    assert all(width(line) <= COLUMNS for line in lines)
    assert "水圧" in paper.text(facts)


def test_the_code_stands_for_every_fact(at: At) -> None:
    facts = facts_of(shipped(at("shipment")))
    found = code(facts)
    assert len(found.replace("-", "")) == 8
    assert paper.matches(facts, found.lower().replace("-", " "))
    altered = [
        replace(facts, serial=facts.serial + "0"),
        replace(facts, charge="70.8 bar at 20.0 °C"),
        replace(facts, tests=facts.tests[:-1]),
        replace(facts, head="0" * 64),
    ]
    assert not any(paper.matches(other, found) for other in altered)


def test_entries_shown_were_all_made_for_this_job(at: At) -> None:
    floor = shipped(at("shipment"))
    floor_job = floor.look().heading.job_id
    for entry in entries_in(asdict(facts_of(floor))):
        assert floor.value(Entry.job_id, Entry.id == entry) == floor_job


def test_a_bore_worked_on_shows_both_surveys(at: At) -> None:
    """As received and at the end, each with its own verdict and entries."""
    floor = at("teardown.bore")
    floor.say("teardown.bore", "40.080 mm", "40.080 mm", "40.080 mm", "40.080 mm")
    floor.say("teardown.bore", "hone or lap")
    facts = facts_of(shipped(floor))
    received, final = (each for each in facts.received if each.line == "teardown.bore")
    assert (received.when, received.verdict, received.disposition) == (
        "received",
        "outside",
        "hone or lap",
    )
    assert received.value.startswith("40.080 mm")
    assert (final.when, final.verdict) == ("final", "within")
    assert not set(received.entries) & set(final.entries)
    text = Page(paper.pdf(facts)).text()
    assert "Bore of the barrel, as received 40.080 mm" in text
    assert "Bore of the barrel, at the end 40.020 mm" in text
    assert "OUTSIDE, hone or lap" in text
