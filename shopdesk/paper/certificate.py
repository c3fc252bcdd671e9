"""The certificate of the work: on paper, for a terminal, and the short code that stands for it."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from shopdesk.paper import page
from shopdesk.paper.blocks import Block, Table, Words, numbers
from shopdesk.paper.page import Paper
from shopdesk.paper.words import charged_cautions
from shopdesk.views.certificates import SHIPMENT, CertificateFacts
from shopdesk.views.codes import code
from shopdesk.views.figures import Defect, Figure

TITLE = "Certificate of the work"
_FIGURES = (37, 37, 29, 12, 12, 11)
_SPELLED = ("procedure", "inspection")
_STATE = {
    "charged": "CHARGED WITH GAS UNDER PRESSURE",
    "vented": "VENTED, NO GAS PRESSURE",
    "unknown": "PRESSURE UNKNOWN, TREAT AS CHARGED",
    "none": "HOLDS NO GAS",
}


def matches(facts: CertificateFacts, printed: str) -> bool:
    """Whether a code read off a paper is this certificate's; case, dash and spaces are free."""
    return "".join(char for char in printed.upper() if char.isalnum()) == code(facts).replace(
        "-", ""
    )


def text(facts: CertificateFacts) -> str:
    """The certificate for a terminal of 80 columns."""
    return page.text(laid(facts))


def pdf(facts: CertificateFacts, *, letter: bool = False) -> bytes:
    """The certificate on A4 or Letter, in the largest type that takes the fewest pages. The same
    facts give the same bytes."""
    return page.pdf(laid(facts), letter=letter)


def laid(facts: CertificateFacts) -> Paper:
    found = code(facts)
    return Paper(
        name=f"{facts.tag}-certificate-{facts.issue}",
        title=TITLE,
        shop=facts.shop,
        foot=f"{facts.tag}  {TITLE}, issue at {facts.issue}  code {found}",
        made_at=facts.issued_at,
        blocks=(_who(facts), *_blocks(facts)),
        tag=facts.tag,
        later=f"{TITLE}  {facts.tag}  serial {facts.serial}",
        text_head=f"{TITLE}  {facts.tag}  code {found}",
    )


# What stands on it ------------------------------------------------------------------------------


def _who(facts: CertificateFacts) -> Table:
    rows = (
        ("Unit", f"{facts.model}, {facts.model_name}", "Job", f"{facts.tag}, {facts.kind}"),
        ("Serial", facts.serial, "Received", moment(facts.received_at)),
        (
            "Customer",
            f"{facts.customer} ({facts.customer_code})",
            "Released",
            moment(facts.released_at),
        ),
        ("Complaint", facts.complaint, "Shipped", _shipped(facts)),
        ("Procedure", f"{facts.model} revision {facts.revision}", "Issue", f"at {facts.issue}"),
        *((("Order", facts.order, "", ""),) if facts.order else ()),
        *((("Claim", facts.claim, "", ""),) if facts.claim else ()),
    )
    return Table(("", "", "", ""), (10, 62, 10, 34), rows)


def _shipped(facts: CertificateFacts) -> str:
    if facts.shipped_at is None:
        return "not yet"
    by = f", {facts.carrier}" if facts.carrier else ""
    return moment(facts.shipped_at) + by


def _blocks(facts: CertificateFacts) -> list[Block]:
    letters = _letters(facts)
    cautions = (*charged_cautions(facts.gas_state, facts.charge, facts.gas), *facts.cautions)
    blocks: list[Block | None] = [
        _state(facts),
        *_figures("Fault as it came", facts.fault, letters),
        *_figures("As received", facts.received, letters),
        _findings(facts),
        *_figures("Build settings", facts.settings, letters),
        *_figures("Torques", facts.torques, letters),
        *_figures("Proof and function", facts.tests, letters),
        *_figures("Charge, hold, release", facts.charging, letters),
        _sources(letters),
        _fitted(facts),
        _not_as_asked(facts),
        _instruments(facts),
        _oldest(facts),
        _signatures(facts),
        _ports(facts),
        _concessions(facts),
        Words("Cautions", cautions) if cautions else None,
        _record(facts),
    ]
    return [block for block in blocks if block is not None]


def _letters(facts: CertificateFacts) -> dict[str, str]:
    """A letter for each source of a limit, in the order they come: written out in every row they
    would take a second page."""
    groups = (
        facts.fault,
        facts.received,
        facts.settings,
        facts.torques,
        facts.tests,
        facts.charging,
    )
    found = dict.fromkeys(
        each.source
        for figures in groups
        for each in figures
        if each.source and each.source not in _SPELLED
    )
    return {source: _letter(n) for n, source in enumerate(found)}


def _letter(n: int) -> str:
    rest, last = divmod(n, 26)
    return (_letter(rest - 1) if rest else "") + "abcdefghijklmnopqrstuvwxyz"[last]


def _sources(letters: Mapping[str, str]) -> Words | None:
    if not letters:
        return None
    said = "; ".join(f"({letter}) {source}" for source, letter in letters.items())
    return Words("", (f"Sources of the limits: {said}.",))


def _state(facts: CertificateFacts) -> Words:
    when = "As shipped" if facts.issue == SHIPMENT else "As released"
    lines = [f"{when}: {_STATE[facts.gas_state]}"]
    if facts.vent is not None and facts.gas_state == "vented":
        vent = facts.vent
        lines.append(
            f"Let down by {vent.by}, seen by {vent.witness}, {moment(vent.at)} "
            f"({numbers(vent.entries)})"
        )
    if facts.charge:
        kept = "" if facts.gas_state == "charged" else "Charge it was proved with: "
        lines.append(f"{kept}{facts.charge}, {facts.gas} ({numbers(facts.charge_entries)})")
    if facts.service:
        lines.append(f"In service: {facts.service[0]}")
        lines += facts.service[1:]
    return Words("", tuple(lines), boxed=True)


def _figures(title: str, figures: Sequence[Figure], letters: Mapping[str, str]) -> Iterator[Block]:
    """The judged and measured lines as a table, what was only said or waited for below it."""
    worked = {each.line for each in figures if each.when == "final"}
    received = {each.line for each in figures if each.when == "received"}
    judged = [each for each in figures if each.measured or each.verdict != "none"]
    if judged:
        heads = (title, "Reading", "Limit (source)", "Verdict", "Instrument", "Entries")
        rows = (_row(each, each.line in worked & received, letters) for each in judged)
        yield Table(heads, _FIGURES, tuple(rows))
    said = [
        f"{each.label}: {each.value} {numbers(each.entries)}"
        for each in figures
        if each not in judged
    ]
    if said:
        yield Words("" if judged else title, (f"Also: {'; '.join(said)}.",))


def _row(each: Figure, twice: bool, letters: Mapping[str, str]) -> tuple[str, ...]:
    after = {"received": ", as received", "final": ", at the end"}[each.when] if twice else ""
    source = letters.get(each.source, each.source)
    limit = f"{each.limit} ({source})" if source else each.limit
    return (
        each.label + after,
        each.value,
        limit,
        verdict(each),
        ", ".join(each.instruments),
        numbers(each.entries),
    )


def verdict(each: Figure) -> str:
    """ "within", "OUTSIDE, conceded", "OUTSIDE, hone or lap", "no limit"."""
    said = {"within": "within", "outside": "OUTSIDE", "none": "no limit"}[each.verdict]
    decided = "conceded" if each.conceded else each.disposition
    return f"{said}, {decided}" if decided and each.verdict == "outside" else said


def _findings(facts: CertificateFacts) -> Block | None:
    """Good parts in one row, the others with what was found and decided."""
    if not facts.findings:
        return None
    bad = [each for each in facts.findings if each.condition != "good"]
    good = [each for each in facts.findings if each.condition == "good"]
    rows = [(each.part, _found(each), _decided(each), numbers(each.entries)) for each in bad]
    if good:
        parts = ", ".join(
            f"{each.part}{' at the end' if each.when == 'final' else ''} {numbers(each.entries)}"
            for each in good
        )
        rows.append(("Good", parts, "", ""))
    heads = ("Inspection", "Found", "Decided", "Entries")
    return Table(heads, (27, 74, 20, 12), tuple(rows))


def _found(each: Defect) -> str:
    return ": ".join(part for part in (each.condition, each.detail) if part)


def _decided(each: Defect) -> str:
    return f"{each.disposition}, conceded" if each.conceded else each.disposition


def _fitted(facts: CertificateFacts) -> Table:
    rows = tuple(
        (
            f"{lot.pieces} x {lot.part}" + (f", {lot.position}" if lot.position else ""),
            ", ".join(
                said
                for said in (
                    lot.lot,
                    lot.certificate,
                    f"matched set {lot.set_number}" if lot.set_number else "",
                )
                if said
            ),
            lot.cured or "-",
            lot.use_by.isoformat() if lot.use_by else "no limit",
            numbers(lot.entries),
        )
        for lot in facts.fitted
    )
    heads = ("Fitted", "Lot, certificate", "Cured", "Use by", "Entries")
    none = (("none", "", "", "", ""),)
    return Table(heads, (38, 22, 11, 13, 9), rows or none, beside=55)


def _instruments(facts: CertificateFacts) -> Table:
    rows = tuple(
        (
            f"{tool.code} {tool.kind}",
            tool.due.isoformat() if tool.due else "none set",
            tool.certificate or "-",
            numbers(tool.entries[:1]),
        )
        for tool in facts.instruments
    )
    heads = ("Instruments", "Cal. due", "Certificate", "From entry")
    none = (("none", "", "", ""),)
    return Table(heads, (30, 17, 15, 13), rows or none, beside=45)


def _not_as_asked(facts: CertificateFacts) -> Words | None:
    """Used, brought or standing in for another: said in a sentence each."""
    said = tuple(
        f"{lot.not_as_asked} ({numbers(lot.entries)})." for lot in facts.fitted if lot.not_as_asked
    )
    return Words("", said) if said else None


def _oldest(facts: CertificateFacts) -> Words | None:
    lot = facts.oldest_cure
    if lot is None:
        return None
    use_by = f"use by {lot.use_by.isoformat()}" if lot.use_by else "no storage limit"
    source = f" by {lot.use_by_source}" if lot.use_by_source else ""
    said = f"Oldest cure date fitted: {lot.cured}, {lot.part} of lot {lot.lot}, {use_by}{source}"
    return Words("", (f"{said} ({numbers(lot.entries)}).",))


def _signatures(facts: CertificateFacts) -> Table:
    rows = tuple(
        (each.label, f"{each.name} ({each.initials})", moment(each.at), numbers(each.entries))
        for each in facts.signatures
    )
    heads = ("Signatures", "By", "At", "Entry")
    return Table(heads, (46, 26, 27, 10), rows, beside=63)


def _ports(facts: CertificateFacts) -> Table | None:
    if not facts.ports:
        return None
    rows = tuple((each.label, each.value, numbers(each.entries)) for each in facts.ports)
    return Table(("Ports as shipped", "Left", "Entry"), (40, 18, 12), rows, beside=37)


def _concessions(facts: CertificateFacts) -> Block:
    if not facts.concessions:
        return Words("", ("Concessions: none.",))
    rows = tuple(
        (
            each.label,
            each.value,
            each.reason,
            f"{each.manager}; for the customer {each.customer}, {each.how}; {moment(each.at)}",
            numbers(each.entries),
        )
        for each in facts.concessions
    )
    heads = ("Concessions", "Reading", "Why", "By whom", "Entry")
    return Table(heads, (27, 24, 36, 36, 10), rows)


def _record(facts: CertificateFacts) -> Words:
    return Words(
        "",
        (
            f"Code {code(facts)}. Numbers after # are entries of the shop's record, which was read "
            f"up to event {facts.event}; head of its chain {facts.head}. Times are UTC.",
        ),
    )


def moment(at: datetime) -> str:
    """UTC, so that the paper is the same wherever it is printed."""
    return f"{at:%Y-%m-%d %H:%M}"
