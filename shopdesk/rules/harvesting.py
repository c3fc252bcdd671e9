"""Parts taken out of cores: what may be taken, and by which grades of the shop."""

from shopdesk.errors import BadInput
from shopdesk.rules.answers import Road
from shopdesk.rules.refusals import Refusal
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.shop import Harvest


def grade(rules: Harvest, typed: str) -> tuple[str, float]:
    """The shop's word and percent for a grade as typed. Raises BadInput."""
    found = [one for one in rules.grades if one[0].casefold() == typed.strip().casefold()]
    if found:
        return found[0]
    if not rules.grades:
        raise BadInput(
            "the shop's rules grade no used parts: [harvest.grades] of shop.toml is missing"
        )
    words = ", ".join(word for word, _ in rules.grades)
    raise BadInput(f"grade: read {typed.strip()[:20]!r}, expected one of {words} ({rules.source})")


def refused(sheet: Sheet, part: str, pieces: int, taken: int, *, rubber: bool) -> Refusal | None:
    """Why this may not be taken out of the job's unit; ``taken`` were before."""
    facts = sheet.facts
    tag = f"J-{facts.number}"
    there = sum(kit.quantity for kit in sheet.procedure.kit if kit.part == part)
    if facts.closed:
        return Refusal(f"{tag} is closed: its unit is not here any more")
    if facts.gas_state.counts_as_charged:
        return Refusal(
            f"{tag}: its gas is {facts.gas_state.value}; nothing is taken out before the "
            "vent record is signed",
            tuple(state.line.key for state in sheet.section("vent") if state.open),
            "technician and a second person",
        )
    if facts.road is not Road.SCRAPPED and facts.kind != "exchange":
        return Refusal(f"{tag} is neither scrapped nor an exchange core: its parts stay in it")
    if there == 0:
        return Refusal(f"{part} is in no kit line of {sheet.procedure.model}")
    if rubber:
        return Refusal(f"{part} is rubber: a used seal has no known age and is not kept")
    if not 1 <= pieces <= there - taken:
        return Refusal(
            f"read {pieces} of {part}; a {sheet.procedure.model} has {there}"
            + (f", {taken} of them taken before" if taken else "")
        )
    return None
