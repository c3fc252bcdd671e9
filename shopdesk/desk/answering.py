"""Reading what was typed at one slot: quantities, choices, scans, signatures."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta

from shopdesk import quantities
from shopdesk.desk import instruments, issuing, signing
from shopdesk.desk.shop import Deed, Worker, refuse
from shopdesk.errors import BadInput, BadQuantity, Question, Refused
from shopdesk.procedure import Line, Prepare, Regulator, Repeat, Restore, Survey, Wait, types
from shopdesk.quantities import Dimension, Measured
from shopdesk.rules import charging, claims, gates, kits, people, steps, verdicts
from shopdesk.rules.generated import SHIPS_AS
from shopdesk.rules.interchange import Interchange
from shopdesk.rules.kits import LotState
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import CANNOT, Ask, Slot, plausible
from shopdesk.views.sheets import SheetView

NOT_CORRECTED = {
    Ask.LOT: "parts issued are not corrected; stores take them back, then another lot is scanned",
    Ask.SIGN: "a signature is not corrected; what it was given for is, and it is signed anew",
    Ask.OFFICE: "not corrected here; the office makes a new quote and has it answered",
}
LONGEST = 500
NOT_DONE = frozenset({"no", "n", "not done", "not yet", "nein", "open"})
NOT_LET_DOWN = frozenset({"no", "not", "still", "never", "cannot", "can't", "nein"})
_LABEL = re.compile(r"(?=.*\d)\S+")
"""One word with a figure in it: no remark, so that a stray scan ticks nothing."""
NO_HISS = re.compile(r"\b(no|not|without|never)\b.*hiss")


@dataclass(frozen=True, slots=True)
class Hand:
    """What comes with an answer: instruments in hand by kind, and whether it was ``confirmed``."""

    tools: Mapping[str, str]
    confirmed: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """What was read: ``answer`` in the procedure's words or unit, ``typed`` as it came;
    ``stands_in``: by what the lot's part takes the place of the one asked."""

    typed: str
    answer: str
    value_si: float | None = None
    unit: str = ""
    instrument_id: int | None = None
    instrument: str = ""
    witness_id: int | None = None
    signer: Worker | None = None
    lot: LotState | None = None
    stands_in: Interchange | None = None
    supersedes: int | None = None
    reason: str = ""


def read(
    deed: Deed,
    view: SheetView,
    state: LineState,
    slot: Slot,
    typed: str,
    who: Worker,
    hand: Hand,
) -> Given:
    """The answer in ``typed``. Raises BadInput, BadQuantity, Refused with one clear sentence,
    Question where it has to be confirmed first."""
    text = clean(typed)
    match slot.ask:
        case Ask.QUANTITY:
            return _quantity(deed, view, state, slot, text, hand)
        case Ask.CHOICE:
            return _choice(view.sheet, state.line, slot, text)
        case Ask.LINES:
            return _lines(state.line, slot, text)
        case Ask.DONE:
            return _done(deed, view.sheet, state, slot, text)
        case Ask.WORDS:
            return Given(text, _words(slot, text))
        case Ask.SIGN:
            return _signature(deed, view.sheet, state, text)
        case Ask.INSTRUMENT:
            return _instrument(deed, view.sheet, state.line, text)
        case Ask.LOT:
            return _lot(deed, view.sheet, state, text, hand)
        case Ask.OFFICE:
            raise Refused(
                f"{state.line.text}: done at the office, not on the sheet",
                (state.line.key,),
                "office",
            )


def clean(typed: str) -> str:
    """One line of printable text. Raises BadInput for what no one types on purpose."""
    if len(typed) > LONGEST:
        raise BadInput(f"read {len(typed)} characters; an answer has at most {LONGEST}")
    text = " ".join(typed.split())
    if any(not char.isprintable() for char in text):
        raise BadInput("read characters that cannot be shown; type the answer again")
    return text


def _quantity(
    deed: Deed,
    view: SheetView,
    state: LineState,
    slot: Slot,
    text: str,
    hand: Hand,
) -> Given:
    line = state.line
    if text.casefold().startswith(CANNOT):
        return _cannot(line, text)
    if isinstance(line, Restore) and view.sheet.reference_value(line.reference) is None:
        left = f"left to be set by its test, {_text(view.sheet, line.set_by_test)}"
        return Given(text, left + (f": {text}" if text else ""))
    if not text:
        raise BadQuantity(f"{line.text}: expected {slot.prompt} in {slot.unit}; nothing was typed")
    measured = _parsed(view.sheet, line, slot, text)
    _physical(line, slot, measured)
    question = verdicts.slip_question(view.sheet, line, slot, measured.value_si)
    if question is not None and not hand.confirmed:
        raise Question(question)  # before it is said which tool would reach a figure slipped in
    tool = None
    kind = _instrument_kind(line, slot)
    if kind:
        shown_si = _on_instrument(line, measured.value_si)
        tool = instruments.for_reading(
            deed.db,
            view.heading.job_id,
            kind,
            hand.tools,
            shown_si,
            slot.unit,
            deed.now,
            steps.open_si(view.sheet, line, slot),
            steps.beyond_si(line, slot, measured.value_si),
        )
    plan = view.sheet.procedure.charge
    if isinstance(line, Regulator) and slot.name == "setting":
        _setting(deed, view, measured.value_si)
        if not hand.confirmed:
            instruments.bottle_gives(deed.db, view.sheet, measured.value_si)
    elif isinstance(line, Regulator) and plan is not None:
        charging.advise(plan, view.sheet.shop, measured.value_si, ())  # raises out of range
    return Given(
        text,
        quantities.text(measured.value_si, slot.unit),
        measured.value_si,
        measured.unit,
        None if tool is None else tool.id,
        "" if tool is None else tool.code,
    )


def _text(sheet: Sheet, key: str) -> str:
    """A line by its words."""
    state = sheet.get(key)
    return key if state is None else state.line.text


def _on_instrument(line: Line, value_si: float) -> float:
    """What the instrument itself was set to or showed: less than the joint got where an adapter
    lengthens the wrench."""
    setting = verdicts.adapter_setting_nm(line) if isinstance(line, types.Torque) else None
    if setting is None or not isinstance(line, types.Torque) or line.target is None:
        return value_si
    return value_si * setting / line.target.value_si


def _parsed(sheet: Sheet, line: Line, slot: Slot, text: str) -> Measured:
    return quantities.parse(
        text,
        unit=slot.unit,
        units=plausible(slot, sheet.shop.torque_units),
        atmosphere_pa=sheet.shop.atmosphere_pa,
        near_si=_size(sheet, line, slot),
    )


def _size(sheet: Sheet, line: Line, slot: Slot) -> float | None:
    """What a length on the line cannot be far from, however worn: its nominal size, the setting to
    be restored, else the middle of its limits. Pressures have none: a low one may be true."""
    if quantities.dimension_of(slot.unit) is not Dimension.LENGTH:
        return None
    if isinstance(line, Survey):
        return line.nominal.value_si
    if isinstance(line, Restore):
        return sheet.reference_value(line.reference) or None
    limit = line.limit if isinstance(line, types.Reading | Repeat) else None
    if limit is None or limit.low is None or limit.high is None or limit.low.value_si <= 0:
        return None
    return (limit.low.value_si + limit.high.value_si) / 2


def _physical(line: Line, slot: Slot, measured: Measured) -> None:
    """A length, torque or volume on the bench is not negative."""
    if measured.dimension in (Dimension.LENGTH, Dimension.TORQUE, Dimension.VOLUME) and (
        measured.value_si < 0
    ):
        raise BadQuantity(f"{line.text}: read {measured.typed}; expected no negative {slot.prompt}")


def _cannot(line: Line, text: str) -> Given:
    """A teardown reading, or a claim's, that cannot be taken, with why."""
    why = text[len(CANNOT) :].strip(" :")
    excusable = isinstance(line, claims.About | claims.Again) or (
        line.section in ("receipt", "teardown")
        and isinstance(line, types.Reading | Repeat | Survey)
    )
    if not excusable:
        raise BadInput(f"{line.text}: has to be measured; '{CANNOT}' is for teardown readings")
    if not why:
        raise BadInput(f"say why: {CANNOT}: head of the screw sheared")
    return Given(text, f"{CANNOT}: {why}")


def _instrument_kind(line: Line, slot: Slot) -> str:
    if slot.name in ("temperature", "gas_temperature", "disposition"):
        return ""
    kind = getattr(line, "instrument", "")
    return kind if isinstance(kind, str) else ""


def _setting(deed: Deed, view: SheetView, setting_pa: float) -> None:
    sheet = view.sheet
    if setting_pa <= 0:
        raise BadQuantity("the regulator is set above zero; read the setting again")
    refuse(charging.plan_refused(sheet.procedure, sheet.shop))
    attached = instruments.attached_ratings(deed.db, sheet)
    refuse(charging.setting_refused(sheet.procedure, sheet.shop, setting_pa, attached))


def _lines(line: Line, slot: Slot, text: str) -> Given:
    """Several of the options at once."""
    if text.casefold().startswith(CANNOT):
        return _cannot(line, text)
    picked = claims.chosen(text, slot.options)
    if picked is None:
        raise BadInput(
            f"{line.text}: read {text[:40]!r}; expected numbers from 1 to {len(slot.options)} such "
            "as 1 3, or all, or 'cannot: why'"
        )
    return Given(text, picked)


def _choice(sheet: Sheet, line: Line, slot: Slot, text: str) -> Given:
    if isinstance(line, claims.Again) and text.casefold().startswith(CANNOT):
        return _cannot(line, text)
    answer = pick(text, slot.options)
    if answer is None:
        numbered = ", ".join(f"{n} {word}" for n, word in enumerate(slot.options, 1))
        read_as = f"read {text[:40]!r}; " if text else ""
        raise BadInput(f"{line.text}: {read_as}expected one of: {numbered}")
    if line.key == SHIPS_AS:
        refuse(gates.may_ship_as(sheet, answer))
    return Given(text, answer)


def pick(text: str, options: tuple[str, ...]) -> str | None:
    """The option meant by its number, its word, or the beginning of just one of them."""
    folded = text.casefold()
    if folded.isdigit() and folded.isascii():
        n = int(folded) if len(folded) < 4 else 0
        return options[n - 1] if 1 <= n <= len(options) else None
    exact = [option for option in options if option.casefold() == folded]
    begun = [option for option in options if folded and option.casefold().startswith(folded)]
    found = exact or begun
    return found[0] if len(found) == 1 else None


def _done(deed: Deed, sheet: Sheet, state: LineState, slot: Slot, text: str) -> Given:
    said = text.casefold()
    first = re.split(r"[\s,.;:]", said, maxsplit=1)[0]
    if said in NOT_DONE or (isinstance(state.line, types.Vent) and first in NOT_LET_DOWN):
        raise BadInput(f"{state.line.text}: stays open until it is done")
    if sheet.procedure.gas_charged and "hiss" in said and not NO_HISS.search(said):
        raise Refused(
            "a hiss is no answer to a line: stop, step aside and report it, so that the vent "
            "record is void on every screen",
            (state.line.key,),
        )
    if text and (_LABEL.fullmatch(text) or quantities.is_reading(text)):
        raise BadInput(
            f"{state.line.text}: read {text[:40]!r}, which looks like a label or a reading; "
            "expected Enter or y once it is done, or a remark in words"
        )
    if isinstance(state.line, Wait):
        return _hold(deed, state, state.line, slot, text)
    return Given(text, text if text.casefold() not in ("", "y", "yes", "ok", "done") else "done")


def _hold(deed: Deed, state: LineState, line: Wait, slot: Slot, text: str) -> Given:
    if slot.name == "started":
        return Given(text, "started")
    over = state.given["started"].at + timedelta(seconds=line.duration.value_si)
    if deed.now < over:
        raise Refused(
            f"{line.text}: runs until {over.astimezone():%d %b %H:%M}; the hold is not over",
            (line.key,),
            "technician, once it is over",
        )
    return Given(text, "held")


def _words(slot: Slot, text: str) -> str:
    if not text:
        raise BadInput(f"expected {slot.prompt}; nothing was typed")
    return text


def _signature(deed: Deed, sheet: Sheet, state: LineState, text: str) -> Given:
    """The PIN is compared and forgotten; only the initials are recorded."""
    signer = signing.sign(deed, text)
    refuse(people.signature_refused(sheet, state, signer.initials, signer.role))
    return Given(signer.initials, f"signed {signer.initials}", witness_id=signer.id, signer=signer)


def _instrument(deed: Deed, sheet: Sheet, line: Line, text: str) -> Given:
    if not isinstance(line, Prepare):
        raise BadInput(f"{line.text}: takes no scan")
    if line.instrument == "bottle":
        return Given(text, instruments.nitrogen_bottle(deed.db, text))
    found = instruments.fit_for_use(deed.db, text, line.instrument, deed.now)
    _stands_setting(deed, sheet, line, found.code)
    return Given(text, found.code, instrument_id=found.id, instrument=found.code)


def _stands_setting(deed: Deed, sheet: Sheet, line: Prepare, code: str) -> None:
    """A rig or hose scanned, or corrected, once the regulator is set has to stand that setting."""
    if line.section != "charge" or line.instrument not in instruments.PRESSURE_PARTS:
        return
    rating = {f"{line.instrument} {code}": instruments.rating_pa(deed.db, code)}
    for state in sheet.section("charge"):
        put = state.given.get("setting")
        if put is not None and put.value_si is not None:
            refuse(charging.setting_refused(sheet.procedure, sheet.shop, put.value_si, rating))


def _lot(deed: Deed, sheet: Sheet, state: LineState, text: str, hand: Hand) -> Given:
    got = issuing.scanned(deed, sheet, state, text, confirmed=hand.confirmed)
    said = kits.issued_said(got.pieces, got.lot, got.line.part)
    return Given(text, said, float(got.pieces), lot=got.lot, stands_in=got.by)
