"""Cores as stock: what came back for a deposit, how good it is, what of the deposit goes back."""

from typing import Any

from sqlalchemy import Row, insert, select, update

from shopdesk.desk import standing
from shopdesk.desk.shop import Deed, Shop, Worker
from shopdesk.errors import BadInput, NotFound, Refused
from shopdesk.records.tables import CoreDeposit, CoreGrade, Customer, Job, Part, Quote, Unit
from shopdesk.rules import cores
from shopdesk.rules.shop import money
from shopdesk.views import documents


def judge(
    shop: Shop, who: str, deposit: int, grade: str, missing: tuple[str, ...] = (), note: str = ""
) -> str:
    """Grades the core that came back for a deposit; a part number in ``missing`` is taken off at
    its unit cost, one for each time it stands there. A core that is paid for is the shop's from
    then on. Gives back what to say."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "judge a core")
        rules = documents.rules(deed.db)
        row = _returned(deed, deposit)
        if deed.db.execute(select(CoreGrade.id).where(CoreGrade.deposit_id == deposit)).first():
            raise Refused("this core was judged already; its credit stands")
        numbers = tuple(part.strip().upper() for part in missing if part.strip())
        costs = _costs(deed, numbers)
        late = row.opened_at.astimezone().date() > row.due_on
        credit = cores.credit(
            row.cents, grade.strip(), rules.cores, [costs[part] for part in numbers], late=late
        )
        values = {
            "grade": grade.strip(),
            "missing": list(numbers),
            "credit_cents": credit,
            "note": note.strip(),
        }
        deed.db.execute(
            insert(CoreGrade).values(
                deposit_id=deposit,
                unit_id=row.unit_id,
                person_id=person.id,
                at=deed.now,
                paid_at=None,
                **values,
            )
        )
        deed.event("core judged", person, {"deposit": deposit, **values}, job_id=row.job_id)
        if credit:
            _becomes_the_shops(deed, person, row.unit_id, row.job_id)
        after = ", it came after its day" if late else ""
        return (
            f"grade {values['grade']}: {money(credit, rules.currency)} of "
            f"{money(row.cents, rules.currency)} go back{after}"
        )

    return shop.write(work)


def pay(shop: Shop, who: str, deposit: int) -> str:
    """The credit of a judged core has gone back to the customer. Gives back what to say."""

    def work(deed: Deed) -> str:
        person = deed.worker(who, "pay a credit")
        row = deed.db.execute(
            select(CoreGrade.id, CoreGrade.credit_cents, CoreGrade.paid_at).where(
                CoreGrade.deposit_id == deposit
            )
        ).one_or_none()
        if row is None:
            raise Refused("this core is not judged yet; its grade says how much goes back")
        if row.paid_at is not None:
            raise Refused(f"this credit was paid on {row.paid_at.astimezone():%Y-%m-%d}")
        deed.db.execute(update(CoreGrade).where(CoreGrade.id == row.id).values(paid_at=deed.now))
        deed.event("credit paid", person, {"deposit": deposit, "cents": row.credit_cents})
        return f"{money(row.credit_cents, documents.rules(deed.db).currency)} paid back"

    return shop.write(work)


def _returned(deed: Deed, deposit: int) -> Row[*tuple[Any, ...]]:
    row = deed.db.execute(
        select(
            CoreDeposit.cents,
            CoreDeposit.due_on,
            Job.id.label("job_id"),
            Job.unit_id,
            Job.opened_at,
        )
        .outerjoin(Job, Job.id == CoreDeposit.settled_job_id)
        .where(CoreDeposit.id == deposit)
    ).one_or_none()
    if row is None:
        raise NotFound(f"no deposit {deposit}")
    if row.job_id is None:
        raise Refused("its core has not come back yet; the counter takes it in first")
    return row


def _becomes_the_shops(deed: Deed, who: Worker, unit_id: int, job_id: int) -> None:
    """The unit, and its job where no customer has been quoted for it."""
    house = deed.db.execute(select(Customer.id).where(Customer.house)).scalar()
    if house is None:
        return
    deed.db.execute(update(Unit).where(Unit.id == unit_id).values(customer_id=house))
    quoted = select(Quote.id).where(Quote.job_id == Job.id).exists()
    number = deed.db.execute(
        update(Job)
        .where(Job.id == job_id, Job.closed_at.is_(None), ~quoted)
        .values(customer_id=house, kind="exchange")
        .returning(Job.number)
    ).scalar()
    if number is not None:
        standing.settle(deed, number, who)


def _costs(deed: Deed, numbers: tuple[str, ...]) -> dict[str, int]:
    rows = deed.db.execute(
        select(Part.number, Part.unit_cost_cents).where(Part.number.in_(numbers))
    )
    costs: dict[str, int] = {row[0]: row[1] for row in rows}
    unknown = sorted(set(numbers) - set(costs))
    if unknown:
        raise BadInput(f"missing parts: {', '.join(unknown)[:80]} is no part of the stores")
    return costs
