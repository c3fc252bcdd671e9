"""Answering the sheet: reading what was typed, the gates, the verdict, what follows from it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import insert

from shopdesk.desk import answering, consequences, drafts, standing
from shopdesk.desk.answering import Given
from shopdesk.desk.consequences import Moved
from shopdesk.desk.shop import Deed, Shop, Worker, refuse
from shopdesk.errors import BadInput, NotFound, Question, Refused, Stale
from shopdesk.procedure import Photo
from shopdesk.records.tables import Entry
from shopdesk.rules import gates, service
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.service import is_arrival
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import Slot, slots
from shopdesk.rules.verdicts import Judged, judge
from shopdesk.views import photos, sheets
from shopdesk.views import service as service_view
from shopdesk.views.sheets import SheetView

_ADD = insert(Entry).returning(Entry.id)


@dataclass(frozen=True, slots=True)
class Recorded:
    """``echo`` is what to show: the value as typed and in the procedure's unit, the verdict,
    the limit and its source. ``view`` is the sheet afterwards."""

    entry_id: int
    line: str
    slot: str
    echo: str
    verdict: Verdict
    view: SheetView


def record_entry(
    shop: Shop,
    who: str,
    number: int,
    line: str,
    typed: str,
    *,
    slot: str | None = None,
    confirmed: bool = False,
    in_hand: Mapping[str, str] | None = None,
    commit_key: str | None = None,
    known: SheetView | None = None,
    draft: str = "",
) -> Recorded:
    """Answers the next slot of a line. ``slot`` is the one the person saw: when it is answered
    already, Stale says by whom. ``known``, the sheet as last seen, spares reading it again when
    nobody has changed it. ``draft`` is the place of the draft this text was kept as: recorded, it
    is dropped in the same transaction. Raises BadInput, Refused, Question, NotFound."""

    def work(deed: Deed) -> Recorded:
        person = deed.worker(who, "record an entry")
        if draft:
            drafts.spent(deed, draft)
        view = sheets.load(deed.db, number, deed.now, known=known)
        state = _line(view.sheet, line)
        if not deed.first_time(commit_key):
            return _already(state, view)
        _seen(state, slot)
        refuse(gates.closed_line(view.sheet, line))
        made: list[tuple[Given, Judged, Recorded]] = []
        for piece in _pieces(state, typed):
            state = _line(view.sheet, line)
            asked = _asked(state)
            held = answering.Hand(dict(in_hand or {}), confirmed)
            given = answering.read(deed, view, state, asked, piece, person, held)
            key = None if made else commit_key
            made.append((given, *_commit(deed, view, state, asked, given, person, key)))
            view = made[-1][-1].view
        return _together(typed, made)

    if known is not None and not confirmed:
        _photo_there(known.sheet.get(line), typed)
    return shop.write(work, keyed=commit_key is not None)


def _photo_there(state: LineState | None, typed: str) -> None:
    """Raises Question for a photo's path with no file behind it. Asked before the transaction: a
    disk that does not answer must not keep others from recording."""
    if state is None or not isinstance(state.line, Photo):
        return
    said = photos.gone(typed)
    if said:
        raise Question(f"{said}. Is it there under that name all the same?")


def correct_entry(
    shop: Shop,
    who: str,
    number: int,
    entry_id: int,
    typed: str,
    reason: str,
    *,
    confirmed: bool = False,
    in_hand: Mapping[str, str] | None = None,
    drafts_of: Sequence[str] = (),
) -> Recorded:
    """A new entry that supersedes one typed wrongly; the original stays, with who and why.
    ``drafts_of``: places of what was typed for it, dropped in the same transaction."""

    def work(deed: Deed) -> Recorded:
        person = deed.worker(who, "record an entry")
        for place in drafts_of:
            drafts.spent(deed, place)
        if not reason.strip():
            raise BadInput("a correction needs its reason; nothing was changed")
        view = sheets.load(deed.db, number, deed.now)
        state, old = _old(view.sheet, entry_id)
        if view.sheet.facts.closed:
            raise Refused("the job is closed: its record stands as it is")
        asked = _slot_of(state, old)
        if asked.ask in answering.NOT_CORRECTED:
            raise Refused(
                f"{state.line.text}: {answering.NOT_CORRECTED[asked.ask]}",
                (state.line.key,),
            )
        held = answering.Hand(dict(in_hand or {}), confirmed)
        given = answering.read(deed, view, state, asked, typed, person, held)
        given = replace(given, supersedes=entry_id, reason=reason.strip())
        return _commit(deed, view, state, asked, given, person, None)[1]

    return shop.write(work)


def _line(sheet: Sheet, key: str) -> LineState:
    state = sheet.get(key)
    if state is None:
        raise NotFound(gates.no_line(sheet, key))
    return state


def _asked(state: LineState) -> Slot:
    if state.next_slot is None:
        raise Refused(
            f"{state.line.text}: answered already; correct it to change it, with the reason",
            (state.line.key,),
        )
    return state.next_slot


def _pieces(state: LineState, typed: str) -> tuple[str, ...]:
    """ "62 bar at 21 C" answers pressure and temperature in one go where both are asked next."""
    missing = [slot.name for slot in state.slots if slot.name not in state.given]
    if missing[:2] == ["value", "temperature"]:
        value, at, temperature = re.sub(r"\s+(?:at|@)\s+|@", "\0", typed, count=1).partition("\0")
        if at and temperature.strip():
            return (value, temperature)
    return (typed,)


def _together(typed: str, made: Sequence[tuple[Given, Judged, Recorded]]) -> Recorded:
    """What was given in one go, echoed as one and judged by the worse of its verdicts."""
    last = made[-1][-1]
    if len(made) == 1:
        return last
    answers = " at ".join(given.answer for given, _, _ in made)
    said = [answers if typed == answers else f"{typed} = {answers}"]
    for _, judged, _ in made:
        said += _told(judged)
    verdicts = {judged.verdict for _, judged, _ in made}
    worse = next((v for v in (Verdict.OUTSIDE, Verdict.WITHIN) if v in verdicts), Verdict.NONE)
    return replace(last, echo="; ".join(said), verdict=worse)


def _seen(state: LineState, slot: str | None) -> None:
    """Raises Stale unless ``slot``, the one the person saw, is what the line asks next."""
    asked = state.next_slot
    if slot is None or (asked is not None and asked.name == slot):
        return
    if slot not in state.given:
        now = f"now asks {asked.prompt}" if asked else "is answered"
        raise Stale(f"{state.line.text}: the line {now}; look again, yours was not recorded")
    other = state.given[slot]
    raise Stale(
        f"{state.line.text}: {other.person} answered {other.answer} at "
        f"{other.at.astimezone():%H:%M}; yours was not recorded"
    )


def _old(sheet: Sheet, entry_id: int) -> tuple[LineState, Answer]:
    for state in sheet.lines:
        for answer in state.given.values():
            if answer.id == entry_id:
                return state, answer
    raise Refused("that entry no longer counts; correct the one that stands in its place")


def _slot_of(state: LineState, old: Answer) -> Slot:
    """The slot an answer was given to, as it is asked without that answer."""
    others = {name: answer for name, answer in state.given.items() if name != old.slot}
    return next(slot for slot in slots(state.line, others) if slot.name == old.slot)


def _already(state: LineState, view: SheetView) -> Recorded:
    """The commit was recorded before (its answer never arrived): nothing is written twice."""
    answers = (*state.past, *state.given.values())
    if not answers:
        raise Stale(f"{state.line.text}: this was recorded before, on another line; look again")
    newest = max(answers, key=lambda answer: answer.id)
    return Recorded(newest.id, newest.line, newest.slot, newest.answer, newest.verdict, view)


def _commit(
    deed: Deed,
    view: SheetView,
    state: LineState,
    slot: Slot,
    given: Given,
    who: Worker,
    commit_key: str | None,
) -> tuple[Judged, Recorded]:
    new = _answer(state, slot, given, who, deed)
    answers = {**state.given, slot.name: new}
    judged = judge(view.sheet, state.line, slot, answers, given.value_si, given.answer)
    if given.stands_in is not None:
        by = given.stands_in
        judged = replace(judged, limit_text=f"in place of {by.part}", source=by.source)
    entry_id = _insert(deed, view, state, slot, given, judged, who, commit_key)
    moved = consequences.follow(deed, view, state, slot, given, who)
    if given.supersedes is not None:
        also = consequences.corrected(deed, view.heading.number, state.line, who)
        moved = max(moved, also, key=lambda one: one.value)
    anew = consequences.built_anew(deed, view, state.line, who)
    moved = max(moved, anew, key=lambda one: one.value)
    stands = None
    if moved is not Moved.MORE:
        stands = sheets.with_answer(
            deed.db, view, _judged(new, entry_id, judged), stock_moved=moved is Moved.STOCK
        )
    if moved is Moved.STOCK and stands is not None:
        refuse(gates.beyond_cap(stands.sheet))  # the pieces are not issued
    after = standing.settle(deed, view.heading.number, who, stands)
    if is_arrival(state.line) and slot.name == "temperature":
        told = (judged.note, _lost(deed, after.sheet, entry_id))
        judged = replace(judged, note="; ".join(filter(None, told)))
    echo = "; ".join((_said(given), *_told(judged)))
    return judged, Recorded(entry_id, state.line.key, slot.name, echo, judged.verdict, after)


def _lost(deed: Deed, sheet: Sheet, entry_id: int) -> str:
    """What was lost in service, where this entry is the first to tell; "" else."""
    found = service_view.served(deed.db, sheet)
    if found is None or entry_id not in found.entries:
        return ""
    return service.told(found, sheet.shop.atmosphere_pa)


def _answer(state: LineState, slot: Slot, given: Given, who: Worker, deed: Deed) -> Answer:
    """The answer as it will be read once it is recorded; not judged yet."""
    return Answer(
        id=0,
        line=state.line.key,
        slot=slot.name,
        typed=given.typed,
        answer=given.answer,
        verdict=Verdict.NONE,
        person=who.initials,
        at=deed.now,
        value_si=given.value_si,
        unit=given.unit,
        instrument=given.instrument,
        witness=given.signer.initials if given.signer else "",
        supersedes=given.supersedes,
        reason=given.reason,
    )


def _judged(new: Answer, entry_id: int, judged: Judged) -> Answer:
    return replace(
        new,
        id=entry_id,
        verdict=judged.verdict,
        limit_text=judged.limit_text,
        limit_source=judged.source,
    )


def _insert(
    deed: Deed,
    view: SheetView,
    state: LineState,
    slot: Slot,
    given: Given,
    judged: Judged,
    who: Worker,
    commit_key: str | None,
) -> int:
    values = {
        "line": state.line.key,
        "slot": slot.name,
        "typed": given.typed,
        "value_si": given.value_si,
        "unit": given.unit,
        "answer": given.answer,
        "verdict": judged.verdict.value,
        "limit_text": judged.limit_text,
        "limit_source": judged.source,
        "instrument_id": given.instrument_id,
        "witness_id": given.witness_id,
        "supersedes": given.supersedes,
        "reason": given.reason,
    }
    entry_id = deed.db.execute(
        _ADD, {"job_id": view.heading.job_id, "person_id": who.id, "at": deed.now, **values}
    ).scalar_one()
    deed.event(
        "entry",
        who,
        {"entry": entry_id, **values},
        job_id=view.heading.job_id,
        commit_key=commit_key,
    )
    return int(entry_id)


def _said(given: Given) -> str:
    if given.typed and given.typed != given.answer and given.value_si is not None:
        return f"{given.typed} = {given.answer}"
    return given.answer


def _told(judged: Judged) -> list[str]:
    parts = []
    if judged.verdict is not Verdict.NONE:
        parts.append(f"{judged.verdict.value.upper()} {judged.limit_text} ({judged.source})")
    elif judged.limit_text:
        parts.append(f"{judged.limit_text} ({judged.source})")
    if judged.note:
        parts.append(judged.note)
    return parts
