"""The office: what waits, for whom and since when; quotes and their answers."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding
from textual.screen import Screen

from shopdesk.tui.columns import Column, days_since, laid
from shopdesk.tui.jobs import GAS, LOUD_GAS, JobsScreen, Seen, group, move_of, promised
from shopdesk.tui.lines import Row
from shopdesk.tui.office import deeds

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.board import JobRow, QuoteRow


@dataclass(frozen=True, slots=True, eq=False)
class Backlog(Seen):
    """The backlog with the quotes nobody has answered; ``proposed``: procedures to approve,
    ``others``: interchanges."""

    quotes: "Sequence[QuoteRow]" = ()
    proposed: int = 0
    others: int = 0

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Backlog):
            return False
        same = (self.quotes, self.proposed, self.others) == (
            other.quotes,
            other.proposed,
            other.others,
        )
        return same and Seen.__eq__(self, other)

    __hash__ = Seen.__hash__


class OfficeScreen(JobsScreen):
    HEADING = "Office: backlog by whose move it is"
    FINDS = "word: late, charged, stores, over 7, a tag, a customer"
    HELP = (
        "Charged and unknown units first, then every open job under the one whose move it is, the "
        "longest wait first. Type words to see only the jobs that fit: late, charged, unknown, "
        "customer, stores, a person, a section, a model, 'over 7' for days waited. F8 changes to "
        "the quotes nobody has answered, with the telephone number. The letters act on the job "
        "under the cursor in both lists."
    )
    LETTERS = "qascputmvrdilwon"
    OWN_KEYS = (
        "Enter sheet Q Quote A Answer P Promise C Concede S Scrap U qUarantine O prOced."
        "\n T Trace L recaLl I Instrum. M Money V Value R Reports D Dates W Who N iNterch."
    )
    EMPTY = " nothing waits"
    COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("tag", 7),
        Column("model", 7, share=1),
        Column("customer", 12, share=2),
        Column("waits for", 26, share=3),
        Column("since", 8),
        Column("promised", 11),
    )
    QUOTE_COLUMNS: ClassVar[tuple[Column, ...]] = (
        Column("tag", 7),
        Column("customer to call", 20, share=3),
        Column("telephone", 14, share=1),
        Column("total", 11, right=True),
        Column("made", 8),
        Column("model", 8, share=1),
    )
    BINDINGS = [
        Binding("q,Q", "quote", "Quote", id="office.quote", tooltip="Draw up the job's quote"),
        Binding(
            "a,A",
            "answer",
            "Answer",
            id="office.answer",
            tooltip="Record the customer's answer to the quote",
        ),
        Binding("p,P", "promise", "Promise", id="office.promise", tooltip="Give a new date"),
        Binding(
            "c,C",
            "concede",
            "Concede",
            id="office.concede",
            tooltip="Accept an outside reading as it is, with manager and customer",
        ),
        Binding(
            "s,S",
            "scrap",
            "Scrap",
            id="office.scrap",
            tooltip="Unrepairable; the owner consents that it is scrapped",
        ),
        Binding(
            "u,U",
            "quarantine",
            "Quarantine",
            id="office.quarantine",
            tooltip="Unknown fluid: nothing goes on before the quarantine lines are done",
        ),
        Binding(
            "t,T",
            "trace",
            "Trace",
            id="office.trace",
            tooltip="The lots whose pieces are in the job",
        ),
        Binding(
            "i,I",
            "instruments",
            "Instruments",
            id="office.instruments",
            tooltip="Instruments and bottles, the first due first; calibrations",
        ),
        Binding(
            "l,L",
            "recall",
            "Recall",
            id="office.recall",
            tooltip="Units and customers behind a lot, tool, procedure, person or period",
        ),
        Binding(
            "m,M",
            "money",
            "Money",
            id="office.money",
            tooltip="What the job cost so far, against its quote",
        ),
        Binding(
            "v,V",
            "value",
            "Value",
            id="office.value",
            tooltip="What the shop's money lies in: stock, open jobs, cores",
        ),
        Binding(
            "r,R",
            "report('morning')",
            "Reports",
            id="office.morning",
            tooltip="The morning page, and from there every report",
        ),
        Binding(
            "d,D",
            "report('promises')",
            "Dates",
            id="office.dates",
            tooltip="When every open job will be done, with 50, 80 and 95 %",
        ),
        Binding(
            "w,W",
            "people",
            "People",
            id="office.people",
            tooltip="Who works here: add, new PIN, role, badge",
        ),
        Binding(
            "o,O",
            "procedures",
            "Procedures",
            id="office.procedures",
            tooltip="Procedures by revision: approve, compare, move running jobs over",
        ),
        Binding(
            "n,N",
            "interchange",
            "Interchange",
            id="office.interchange",
            tooltip="What may stand in for what: approve, turn down, withdraw",
        ),
        Binding(
            "f8",
            "quotes",
            "Quotes",
            id="office.quotes",
            tooltip="Quotes nobody has answered, and back to the backlog",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.on_quotes = False

    def listed(self, shop: "Shop") -> "Sequence[JobRow]":
        from shopdesk.views import board

        with shop.read() as db:
            return board.backlog(db)

    def ask(self, shop: "Shop", text: str) -> Backlog:
        from shopdesk.rules.filters import fits
        from shopdesk.views import board, interchange, procedures

        seen, now = super().ask(shop, text), shop.clock()
        found = list(seen.jobs)
        if seen.found:
            fitting = [job for job in self.listed(shop) if fits(text, job, now)]
            numbers = {job.number for job in fitting}
            found = fitting + [job for job in found if job.number not in numbers]
        with shop.read() as db:
            quotes, proposed = board.quotes_open(db), procedures.waiting(db)
            others = len(interchange.waiting(db))
        return Backlog(now, tuple(found), seen.found, quotes, proposed, others)

    @property
    def shows_quotes(self) -> bool:
        return self.on_quotes and not self.answer.found

    def repaint(self) -> None:
        super().repaint()
        if self.answer is not None and self.shows_quotes:
            self.paint_titles(self.QUOTE_COLUMNS)

    def rows(self) -> Sequence[Row]:
        if self.shows_quotes:
            return [self.quote_row(quote) for quote in self.answer.quotes]
        if self.answer.found:
            return super().rows()
        pressed = [job for job in self.answer.jobs if job.gas_state in LOUD_GAS]
        rows: list[Row] = []
        if pressed:
            rows.append(group("Charged or unknown, treat as charged", len(pressed), "here"))
            rows += [self.job_row(job, job.waiting_on or "nobody") for job in pressed]
        others = [job for job in self.answer.jobs if job.gas_state not in LOUD_GAS]
        for mover, jobs in groupby(others, key=lambda job: job.waiting_on):
            waiting = list(jobs)
            name = move_of(mover)
            rows.append(group(name[:1].upper() + name[1:], len(waiting), "waiting"))
            rows += [self.job_row(job) for job in waiting]
        return rows

    def job_row(self, job: "JobRow", mover: str = "") -> Row:
        """``mover`` is said where no heading says it."""
        now, today = self.answer.now, self.answer.today
        waited = "" if job.closed_at else days_since(job.waiting_since, now)
        cells = (
            f"J-{job.number}",
            job.model,
            job.customer,
            f"{mover}: {job.waiting_for}" if mover else job.waiting_for,
            waited,
            promised(job, today),
        )
        return Row(laid(self.COLUMNS, self.width, cells), job.number)

    def about(self, key: Hashable | None) -> Sequence[str]:
        """As in every place, and the gas state, which has no column here."""
        job, said = self.job(key), tuple(super().about(key))
        if job is None or job.closed_at is not None or len(said) < 2:
            return said
        gas = GAS.get(job.gas_state, job.gas_state)
        return said[0], f"gas: {gas}; {said[1]}"

    def quote_row(self, quote: "QuoteRow") -> Row:
        from shopdesk.rules.shop import money

        cells = (
            f"J-{quote.number}",
            quote.customer,
            quote.phone or "no telephone",
            money(quote.total_cents),
            days_since(quote.at, self.answer.now),
            quote.model,
        )
        return Row(laid(self.QUOTE_COLUMNS, self.width, cells), quote.number)

    def paint_find(self) -> None:
        super().paint_find()
        if self.answer is not None and not self.lines.text and not self.lines.typing:
            jobs, quotes = len(self.answer.jobs), len(self.answer.quotes)
            shown = "quotes unanswered" if self.on_quotes else "backlog"
            self.say_found(
                f"Shown: {shown}.  Jobs waiting: {jobs}.  Quotes unanswered: {quotes} (F8)."
                f"{self._approve()}"
            )

    def _approve(self) -> str:
        waits = ((self.answer.proposed, "O"), (self.answer.others, "N"))
        said = ", ".join(f"{count} ({key})" for count, key in waits if count)
        return f"  Approve: {said}" if said else ""

    def action_people(self) -> None:
        from shopdesk.tui.office.people import PeopleScreen

        if self.is_current:
            self.app.push_screen(PeopleScreen())

    def action_procedures(self) -> None:
        from shopdesk.tui.office.procedures import ProceduresScreen

        self.show(ProceduresScreen())

    def action_interchange(self) -> None:
        from shopdesk.tui.stores.interchange import InterchangeScreen

        self.show(InterchangeScreen())

    def action_quotes(self) -> None:
        self.on_quotes = not self.on_quotes
        self.lines.clear()
        self.repaint()

    def action_quote(self) -> None:
        self.with_job(lambda job: self.with_quote(job, deeds.quote))

    def action_answer(self) -> None:
        self.with_job(lambda job: self.with_quote(job, deeds.answer))

    def action_promise(self) -> None:
        self.with_job(lambda job: deeds.promise(self, job))

    def action_concede(self) -> None:
        self.with_job(lambda job: deeds.concede(self, job))

    def action_scrap(self) -> None:
        self.with_job(lambda job: deeds.scrap(self, job))

    def action_trace(self) -> None:
        from shopdesk.tui.stores.tracing import TraceScreen

        self.with_job(lambda job: self.show(TraceScreen(f"J-{job.number}")))

    def action_instruments(self) -> None:
        from shopdesk.tui.office.instruments import InstrumentsScreen

        self.show(InstrumentsScreen())

    def action_recall(self) -> None:
        from shopdesk.tui.office.recall import ask_recall

        ask_recall(self)

    def action_money(self) -> None:
        from shopdesk.tui.office.money import JobMoneyScreen

        self.with_job(lambda job: self.show(JobMoneyScreen(job.number)))

    def action_value(self) -> None:
        from shopdesk.tui.office.value import ValueScreen

        self.show(ValueScreen())

    def action_report(self, name: str) -> None:
        from shopdesk.tui.office.report import ReportScreen

        self.show(ReportScreen(name))

    def show(self, screen: Screen[None]) -> None:
        if self.is_current:
            self.app.push_screen(screen)

    def action_quarantine(self) -> None:
        self.with_job(lambda job: deeds.quarantine(self, job))

    def with_quote(self, job: "JobRow", then: Any) -> None:
        """Reads the job's latest quote, then goes on."""

        def look_up(shop: "Shop") -> Any:
            from shopdesk.views import quotes

            with shop.read() as db:
                return quotes.latest(db, job.number)

        self.read(look_up, lambda quote: then(self, job, quote))
