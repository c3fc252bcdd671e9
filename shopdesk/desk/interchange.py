"""Interchange: proposed, approved by a manager, withdrawn; a stand-in held for a job.

What is approved allows a scan at the bench and nothing by itself: no kit is filled up with another
part before somebody has looked at what is offered and held it, or scanned its lot.
"""

from sqlalchemy import insert

from shopdesk.desk import reasons, standing, stock, stores
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, Refused
from shopdesk.records.tables import Interchange as Made
from shopdesk.records.tables import InterchangeAnswer
from shopdesk.rules import interchange as rules
from shopdesk.rules import kits
from shopdesk.rules.interchange import APPROVED, PROPOSED, TURNED_DOWN, WITHDRAWN, Interchange
from shopdesk.views import held, sheets
from shopdesk.views import interchange as views
from shopdesk.views.held import Held
from shopdesk.views.sheets import SheetView


def propose(
    shop: Shop, who: str, part: str, stand_in: str, reason: str, *, only_in: str = ""
) -> Interchange:
    """Puts on record that ``stand_in`` may stand in for ``part``, and waits for a manager.
    ``only_in``: models, each with a kit line where it is for that alone; "" for everywhere."""

    def work(deed: Deed) -> Interchange:
        person = deed.worker(who, "propose an interchange")
        asked, other = views.spec(deed.db, part).number, views.spec(deed.db, stand_in).number
        if asked == other:
            raise BadInput(f"{asked} needs nothing to stand in for itself; name another part")
        why = reasons.said(reason, "why may it stand in? give the reason")
        where = rules.places(only_in, views.asking(deed.db, asked))
        _not_said_yet(deed, asked, other, where)
        values = {
            "part_id": stock.part_id_of(deed.db, asked),
            "stand_in_id": stock.part_id_of(deed.db, other),
            "only_in": [list(place) for place in where],
            "reason": why,
        }
        made = deed.db.execute(
            insert(Made).values(person_id=person.id, at=deed.now, **values).returning(Made.id)
        ).scalar_one()
        deed.event("interchange", person, {"interchange": made, **values})
        return views.find(deed.db, made)

    return shop.write(work)


def _not_said_yet(deed: Deed, part: str, stand_in: str, where: tuple[tuple[str, str], ...]) -> None:
    for one in views.every(deed.db, part):
        pair = (one.part, one.stand_in) == (part, stand_in)
        if pair and one.open and rules.same(one, where):
            waits = ", and waits for a manager" if one.stands == PROPOSED else ""
            raise Refused(
                f"{stand_in} in place of {part} is {one.stands} already ({one.named}, "
                f"{one.where}){waits}"
            )


def approve(shop: Shop, signs: str, interchange: int, reason: str = "") -> str:
    """A manager lets the stand-in stand in from now on. ``signs``: initials and PIN. Gives back
    the sentence to say."""

    def work(deed: Deed) -> str:
        who = deed.signed(signs, "approve an interchange")
        one = _waiting(deed, interchange)
        _answer(deed, who, one, APPROVED, reasons.maybe(reason))
        where = "" if not one.only_in else f" in {one.where}"
        return f"{one.stand_in} may stand in for {one.part}{where}; not the other way round"

    return shop.write(work)


def turn_down(shop: Shop, signs: str, interchange: int, reason: str) -> str:
    """A manager refuses a proposal, with the reason; it stays on record."""

    def work(deed: Deed) -> str:
        who = deed.signed(signs, "approve an interchange")
        one = _waiting(deed, interchange)
        why = reasons.said(reason, "why is it turned down? give the reason")
        _answer(deed, who, one, TURNED_DOWN, why)
        return f"{one.named} is turned down: {one.stand_in} does not stand in for {one.part}"

    return shop.write(work)


def withdraw(shop: Shop, signs: str, interchange: int, reason: str) -> str:
    """From now on nothing stands in by it: what jobs hold by it goes back to the shelf, what was
    issued stays and is named."""

    def work(deed: Deed) -> str:
        who = deed.signed(signs, "approve an interchange")
        one = views.find(deed.db, interchange)
        if one.stands != APPROVED:
            raise Refused(f"{one.named} is {one.stands}: there is nothing to withdraw")
        why = reasons.said(reason, "why is it withdrawn? give the reason")
        _answer(deed, who, one, WITHDRAWN, why)
        _given_up(deed, one, who, why)
        jobs = views.jobs_with(deed.db, interchange)
        has = ", ".join(f"J-{job}" for job in jobs)
        return f"{one.named} is withdrawn: {one.stand_in} stands in for {one.part} no more" + (
            f"; {has} {'has' if len(jobs) == 1 else 'have'} it fitted or issued" if jobs else ""
        )

    return shop.write(work)


def _waiting(deed: Deed, number: int) -> Interchange:
    one = views.find(deed.db, number)
    if one.stands != PROPOSED:
        raise Refused(f"{one.named} is {one.stands} by {one.answered_by}; nothing was changed")
    return one


def _answer(deed: Deed, who: Worker, one: Interchange, answer: str, reason: str) -> None:
    values = {"answer": answer, "reason": reason}
    deed.db.execute(
        insert(InterchangeAnswer).values(
            interchange_id=one.number, person_id=who.id, at=deed.now, **values
        )
    )
    deed.event("interchange answered", who, {"interchange": one.number, **values})


def _given_up(deed: Deed, one: Interchange, who: Worker, why: str) -> None:
    """The jobs that held a stand-in wait for the part itself again; who waits for the stand-in as
    its own part is served."""
    for number, job_id in views.jobs_holding(deed.db, one.number):
        for kept in held.of_job(deed.db, job_id):
            if kept.by == one.number:
                stock.release(deed, job_id, kept, who, f"{one.named} is withdrawn: {why}")
        view = sheets.load(deed.db, number, deed.now)
        if kits.may_reserve(view.sheet):
            stock.reserve_kit(deed, view.sheet, who)
        standing.settle(deed, number, who)
    stores.serve_waiting(deed, stock.part_id_of(deed.db, one.stand_in), who)


def hold(shop: Shop, who: str, number: int, part: str, stand_in: str) -> str:
    """Reserves for the job what it is short of ``part``, in pieces of ``stand_in``. Gives back the
    sentence to say."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "hold a part")
        view = sheets.load(deed.db, number, deed.now)
        asked, other = views.spec(deed.db, part).number, views.spec(deed.db, stand_in).number
        if not kits.may_reserve(view.sheet):
            raise Refused(f"J-{number} holds no kit now; its lots are scanned when it is issued")
        short = [(kit.id, pieces) for kit, pieces in kits.short(view.sheet) if kit.part == asked]
        if not short:
            raise Refused(f"J-{number} is not short of {asked}")
        taken = sum(
            _hold(deed, view, line, _allowed(deed, view, line, asked, other), pieces, person)
            for line, pieces in short
        )
        if not taken:
            by = stock.holders(deed.db, stock.part_id_of(deed.db, other), view.heading.job_id)
            raise Refused(f"no {other} is free; held by {by}", (), "stores")
        standing.settle(deed, number, person)
        return f"{taken} {other} held for J-{number}, in place of {asked}"

    return shop.write(work)


def hold_again(deed: Deed, number: int, kept: Held, who: Worker) -> None:
    """What stood in before the job's kit was laid out anew, where its line still asks for it."""
    assert kept.by is not None
    one, view = views.find(deed.db, kept.by), sheets.load(deed.db, number, deed.now)
    for kit, pieces in kits.short(view.sheet):
        line = (kit.id, kit.part) == (kept.kit_line, one.part)
        if line and one.allows(view.sheet.procedure.model, kit.id):
            _hold(deed, view, kit.id, one, min(pieces, kept.pieces), who)


def _allowed(deed: Deed, view: SheetView, line: str, part: str, stand_in: str) -> Interchange:
    model, known = view.sheet.procedure.model, views.every(deed.db, part)
    one, why = rules.between(part, stand_in, model, line, known)
    if one is not None:
        return one
    raise Refused(why or f"nothing says that {stand_in} may stand in for {part}", (), "manager")


def _hold(deed: Deed, view: SheetView, line: str, one: Interchange, short: int, who: Worker) -> int:
    """Reserves as many of these pieces as the shelf has."""
    asked = next(kit for kit in view.sheet.procedure.kit if kit.id == line)
    part_id, free = stock.on_shelf(deed, one.stand_in, mate=bool(asked.matched))
    take = min(short, free)
    if take <= 0:
        return 0
    job_id = view.heading.job_id
    stock.move(
        deed,
        "reserve",
        part_id,
        who,
        reserved=take,
        job_id=job_id,
        kit_line=line,
        interchange_id=one.number,
        reason=f"in place of {one.part}",
    )
    standing.shelf_empty(deed, part_id, job_id, who)
    return take
