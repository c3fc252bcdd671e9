"""The office's forms: quote, answer, promise, concession, scrap, quarantine."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from shopdesk.tui.columns import day
from shopdesk.tui.dates import EXPECTED, read_date
from shopdesk.tui.effects import outcome
from shopdesk.tui.fields import Fields
from shopdesk.tui.filling import NO, YES, Choice, Field
from shopdesk.tui.forms import FormScreen
from shopdesk.tui.frame import app_of
from shopdesk.tui.jobs import GAS, seen

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.rules.sheet import LineState
    from shopdesk.tui.places import ListScreen
    from shopdesk.views.board import JobRow
    from shopdesk.views.quotes import QuoteSeen

ANSWERS = (Choice("approved", also=YES), Choice("declined", also=NO))
HOW = (Choice("telephone"), Choice("e-mail"), Choice("in person"), Choice("letter"))
MANAGER = Field(
    "manager", "Manager signs", secret=True, hint="a manager's initials or badge, a space, the PIN"
)


def head_of(job: "JobRow") -> str:
    gas = GAS.get(job.gas_state, job.gas_state)
    return f"J-{job.number}  {job.model} {job.serial}, {job.customer}   gas: {gas}"


def quote_lines(quote: "QuoteSeen") -> list[str]:
    """The quote as it is read out: the amounts that stand on the customer's paper."""
    from shopdesk.rules.shop import money
    from shopdesk.views.quotes import told

    total = money(quote.total_cents, quote.currency)
    lines = [f"{total} for {quote.customer}, telephone {quote.phone or 'not known'}"]
    for line in told(quote.lines):
        labour = line.kind == "labour"
        said = f"{line.quantity:.2f} h" if labour else f"{line.quantity:g} x"
        lines.append(f"  {said:>8}  {line.text[:46]:46} {money(line.cents):>11}")
    lines.append(f"  {'':8}  {'in all':46} {total:>11}")
    return lines


def quote(screen: "ListScreen", job: "JobRow", standing: "QuoteSeen | None") -> None:
    """A first quote is drawn up at once; one that replaces another is asked for first."""
    app, number, as_seen = screen.shop_app, job.number, seen(job)

    def make(shop: "Shop", _: dict[str, str] | None = None) -> str:
        from shopdesk.desk import office
        from shopdesk.rules.shop import money

        view = office.make_quote(shop, app.person, number, seen=as_seen)
        made = view.sheet.facts.quote
        total = money(made.total_cents, view.sheet.shop.currency) if made else ""
        return f"quote for J-{number}: {total}; A records the customer's answer"

    if standing is None:
        app.with_person(lambda: screen.deed(make))
        return
    stands = f"{standing.answer} by {standing.answered_by}" if standing.answer else "not answered"
    screen.open_form(
        FormScreen(
            f"A new quote for J-{number}",
            (),
            make,
            context=(
                head_of(job),
                f"A quote stands already ({stands}).",
                *quote_lines(standing),
                "A new one takes its place and needs its own answer.",
            ),
            commit="make a new quote",
        )
    )


def answer(screen: "ListScreen", job: "JobRow", asked: "QuoteSeen | None") -> None:
    from shopdesk.rules.shop import money

    app, number, as_seen = screen.shop_app, job.number, seen(job)
    if asked is None:
        app.say(f"J-{number} has no quote yet; Q draws it up")
        return
    if asked.answer:
        app.say(f"J-{number}: {asked.answer} by {asked.answered_by} already; Q makes a new quote")
        return

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import office
        from shopdesk.rules.shop import cents
        from shopdesk.views import interchange

        approved = given["answer"] == "approved"
        cap = cents(given["cap"], where="agreed up to") if approved else 0
        view = office.record_answer(
            shop,
            app.person,
            number,
            approved=approved,
            by=given["by"],
            how=given["how"],
            cap_cents=cap,
            seen=as_seen,
        )
        said = f"J-{number}: {given['answer']} by {given['by']}, {given['how']}"
        with shop.read() as db:
            lacks = interchange.lacks(db, view.sheet)
        return f"{said}. {lacks}" if lacks else said

    screen.open_form(
        FormScreen(
            f"The customer's answer to the quote of J-{number}",
            (
                Field("answer", "Answer", choices=ANSWERS),
                Field("by", "Who said so", hint="the person who answered for the customer"),
                Field("how", "How", choices=HOW, free=True),
                Field(
                    "cap",
                    "Agreed up to",
                    money(asked.total_cents).replace(",", ""),
                    hint="no work goes beyond it; not asked when declined",
                    optional=True,
                ),
            ),
            deed,
            context=(head_of(job), *quote_lines(asked)),
        )
    )


class PromiseForm(FormScreen):
    """Says whom the date delays before anybody signs for it."""

    def __init__(
        self,
        number: int,
        heading: str,
        fields: Sequence[Field],
        deed: "Callable[[Shop, dict[str, str]], str]",
        *,
        context: Sequence[str] = (),
    ) -> None:
        super().__init__(heading, fields, deed, context=context)
        self.number = number
        self.weighed = self.found = ""

    def on_fields_passed(self, event: Fields.Passed) -> None:
        typed, number = self.fields.values["date"], self.number
        if self.busy or not typed:
            return
        event.prevent_default()
        if typed == self.weighed:
            self.say(self.found)
            return
        self.weighed, self.found = typed, ""

        def ask(shop: "Shop") -> str:
            from shopdesk.views import forecasts

            now = shop.clock()
            today = now.astimezone().date()
            asked = read_date(typed, today)
            with shop.read() as db:
                return outcome(forecasts.expedited(db, now, number, asked), asked, today)

        app_of(self).look("weigh", ask, self.tell, app_of(self).quiet)

    def tell(self, found: str) -> None:
        self.found = found
        if self.is_current:
            self.say(found)


def promise(screen: "ListScreen", job: "JobRow") -> None:
    number, as_seen = job.number, seen(job)

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import office

        today = shop.clock().astimezone().date()
        to = read_date(given["date"], today)
        office.change_promise(shop, given["manager"], number, to, given["reason"], seen=as_seen)
        return f"J-{number} is promised for {day(to, today)}; the first date stays beside it"

    screen.open_form(
        PromiseForm(
            number,
            f"A new date for J-{number}",
            (
                Field("date", "Promised for", hint=EXPECTED),
                Field("reason", "Reason", hint="what the customer is told"),
                MANAGER,
            ),
            deed,
            context=(
                head_of(job),
                f"Promised for {job.promised_on:%d %b %Y}.",
                f"Waits for {job.waiting_for}: {job.waiting_on or 'nobody'}.",
            ),
        )
    )


def concede(screen: "ListScreen", job: "JobRow") -> None:
    number = job.number

    def look_up(shop: "Shop") -> "tuple[LineState, ...]":
        from shopdesk.views import sheets

        with shop.read() as db:
            sheet = sheets.load(db, number, shop.clock()).sheet
        return tuple(state for state in sheet.lines if state.open and outside(state))

    screen.read(look_up, lambda lines: _concede(screen, job, lines))


def _concede(screen: "ListScreen", job: "JobRow", lines: "tuple[LineState, ...]") -> None:
    number, as_seen = job.number, seen(job)
    if not lines:
        screen.shop_app.say(f"J-{number}: no line stands outside its limit; nothing to concede")
        return
    choices = tuple(Choice(state.line.key, outside_words(state)) for state in lines)

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import bench

        bench.concede(
            shop,
            number,
            given["line"],
            given["reason"],
            given["manager"],
            given["customer"],
            given["how"],
            seen=as_seen,
        )
        text = next(state.line.text for state in lines if state.line.key == given["line"])
        return f"J-{number}: {text}: conceded as it is"

    screen.open_form(
        FormScreen(
            f"Concession on J-{number}",
            (
                Field(
                    "line",
                    "Line",
                    choices[0].code if len(choices) == 1 else "",
                    choices=choices,
                    hint="a line outside its limit, by number",
                ),
                Field("reason", "Reason", hint="why it may stay as it is"),
                Field("customer", "Customer agreed", hint="who agreed for the customer"),
                Field("how", "How", choices=HOW, free=True),
                MANAGER,
            ),
            deed,
            context=(head_of(job), "The reading stays on record as outside, with who accepted it."),
        )
    )


def outside(state: "LineState") -> list[str]:
    """What was read outside its limit, with the limit."""
    return [
        f"{a.answer} (limit {a.limit_text})" if a.limit_text else a.answer
        for a in state.given.values()
        if a.verdict.value == "outside"
    ]


def outside_words(state: "LineState") -> str:
    read = outside(state)
    return ": ".join([state.line.text, *read[:1]])


def scrap(screen: "ListScreen", job: "JobRow") -> None:
    app, number, as_seen = screen.shop_app, job.number, seen(job)

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import office

        office.scrap(
            shop, app.person, number, given["by"], given["how"], given["reason"], seen=as_seen
        )
        return f"J-{number} goes to scrap with {given['by']}'s consent; reserved parts went back"

    screen.open_form(
        FormScreen(
            f"Scrap J-{number} with the owner's consent",
            (
                Field("by", "Who consents", hint="the person who consented for the owner"),
                Field("how", "How", choices=HOW, free=True),
                Field("reason", "Reason", hint="why it cannot be repaired"),
            ),
            deed,
            context=(
                head_of(job),
                "The unit leaves repair; its reserved parts go back to the shelf.",
            ),
            commit="scrap it",
        )
    )


def quarantine(screen: "ListScreen", job: "JobRow") -> None:
    app, number = screen.shop_app, job.number

    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import bench

        bench.quarantine(shop, app.person, number, given["reason"])
        return f"J-{number} is in quarantine; its quarantine lines come first"

    screen.open_form(
        FormScreen(
            f"Put J-{number} in quarantine",
            (Field("reason", "Why", hint="what was found: smell, colour, where it comes from"),),
            deed,
            context=(
                head_of(job),
                "Nothing on the unit goes on before its quarantine lines are done.",
            ),
            commit="quarantine it",
        )
    )
