"""A running job moved over to another revision of its procedure: one deed, signed by a manager."""

from sqlalchemy import insert, update

from shopdesk.desk import interchange, reasons, standing, stock
from shopdesk.desk.seen import AsSeen, require_seen
from shopdesk.desk.shop import Deed, Shop, Worker, refuse
from shopdesk.errors import Refused
from shopdesk.records.tables import Job, ProcedureMove
from shopdesk.rules import kits
from shopdesk.rules.moving import Plan
from shopdesk.views import held, moving, sheets
from shopdesk.views.moving import MovePlan
from shopdesk.views.sheets import SheetView


def move_over(
    shop: Shop,
    signs: str,
    number: int,
    reason: str,
    *,
    dropped_reason: str = "",
    to: str = "",
    seen: AsSeen | None = None,
) -> SheetView:
    """Moves the job to the revision in force (or ``to``). Its entries stay as they were.

    ``signs``: a manager's initials and PIN. ``dropped_reason`` says why lines may be dropped that
    are answered; without it they refuse the move. Raises Stale when the job is no longer as
    ``seen``; else BadInput, Refused, NotFound.
    """

    def work(deed: Deed) -> SheetView:
        who = deed.signed(signs, "keep procedures")
        found = moving.plan(deed.db, number, deed.now, to)
        view = found.view
        require_seen(deed, view, seen)
        refuse(found.plan.refusal)
        why = reasons.said(reason, "why is the job moved over? give the reason")
        _record(deed, found, who, why, _dropped(found, dropped_reason))
        view = standing.set_gas(deed, view, found.plan.gas, who)
        if view.sheet.procedure.kit != found.plan.after.procedure.kit:
            _other_kit(deed, found, who)
        return standing.settle(deed, number, who)

    return shop.write(work)


def _dropped(found: MovePlan, reason: str) -> str:
    """Why lines may be dropped that are answered. Raises Refused where some are and it is not
    said."""
    lines = found.plan.dropped
    if lines and not reason.strip():
        said = "; ".join(f"{line.key} ({line.text}: {line.answer})" for line in lines)
        raise Refused(
            f"{sheets.tag(found.view.heading.number)} has answered what rev {found.now} drops: "
            f"{said}. Say why that may be dropped, or leave the job on rev {found.was}",
            tuple(line.key for line in lines),
            "manager",
        )
    return reasons.maybe(reason)


def _record(deed: Deed, found: MovePlan, who: Worker, reason: str, dropped_reason: str) -> None:
    job_id = found.view.heading.job_id
    values = {
        "up_to_entry": standing.newest_entry(deed, job_id),
        "again": list(found.plan.again),
        "judged": _judged(found.plan),
        "reason": reason,
        "dropped_reason": dropped_reason,
    }
    deed.db.execute(
        insert(ProcedureMove).values(
            job_id=job_id,
            from_revision_id=found.from_id,
            to_revision_id=found.to_id,
            person_id=who.id,
            at=deed.now,
            **values,
        )
    )
    deed.db.execute(update(Job).where(Job.id == job_id).values(procedure_revision_id=found.to_id))
    deed.event(
        "procedure moved",
        who,
        {
            "from": found.from_id,
            "to": found.to_id,
            "was": found.was,
            "is": found.now,
            **values,
        },
        job_id=job_id,
    )


def _judged(plan: Plan) -> list[list[object]]:
    return [
        [each.entry, each.verdict.value, each.limit_text, each.limit_source] for each in plan.judged
    ]


def _other_kit(deed: Deed, found: MovePlan, who: Worker) -> None:
    """What was reserved for the old kit goes back to the shelf; the new one is reserved where the
    customer has approved, or nobody has to, with what stood in for a part that still asks it."""
    heading = found.view.heading
    reason = f"moved over to rev {found.now}"
    stood_in = [one for one in held.of_job(deed.db, heading.job_id) if one.by is not None]
    stock.release_kit(deed, heading.job_id, who, reason)
    after = sheets.load(deed.db, heading.number, deed.now)
    quote = after.sheet.facts.quote
    if kits.may_reserve(after.sheet) or (quote is not None and quote.answer == "approved"):
        standing.promise_kit(deed, after, who)
        for one in stood_in:
            interchange.hold_again(deed, heading.number, one, who)
