"""The walker: answers the next open line of any sheet as the right people would, in order."""

from collections.abc import Generator
from dataclasses import dataclass
from random import Random

from shopdesk import quantities
from shopdesk.desk import bench, entries, office
from shopdesk.desk.sample import claiming, saying, tools, values
from shopdesk.desk.sample.clock import Clock
from shopdesk.desk.sample.crew import Crew, Member
from shopdesk.desk.sample.plans import Plan, draw
from shopdesk.desk.shop import Shop
from shopdesk.errors import Refused
from shopdesk.procedure import GasCharge, Prepare, Regulator, Wait
from shopdesk.rules import charging, kits, people
from shopdesk.rules.claims import WHY, Again
from shopdesk.rules.generated import APPROVAL, QUOTED, Issue
from shopdesk.rules.sheet import LineState, Sheet, State
from shopdesk.rules.slots import Ask, Slot
from shopdesk.views import charges, lots, sheets
from shopdesk.views.sheets import SheetView

COUNTER = frozenset({"receipt", "decision", "shipment", "declined"})
SLOW = {"outside process": 3 * 1440.0, "hone or lap": 90.0, "dress": 20.0}


@dataclass(frozen=True, slots=True)
class Hands:
    """Who works on a job: ``bench`` records most lines, ``desk`` those of the counter."""

    bench: Member
    desk: Member


class Walker:
    """One pair of eyes on the shop for as many jobs as there are. Depends on ``seed`` alone."""

    def __init__(self, shop: Shop, clock: Clock, crew: Crew, seed: int = 7) -> None:
        self.shop, self.clock, self.crew, self.seed = shop, clock, crew, seed
        self._tools: tuple[tools.Tool, ...] | None = None
        self._seen: dict[int, SheetView] = {}

    def forget_tools(self) -> None:
        """Instruments were calibrated or added: look at them again."""
        self._tools = None

    def look(self, number: int) -> SheetView:
        with self.shop.read() as db:
            view = sheets.load(db, number, self.clock(), known=self._seen.get(number))
        self._seen[number] = view
        return view

    def saw(self, view: SheetView) -> None:
        """A deed gave back the sheet as it is now."""
        self._seen[view.heading.number] = view

    def forget(self, number: int) -> None:
        """The unit has left."""
        self._seen.pop(number, None)

    def walk(self, number: int, hands: Hands, plan: Plan, until: str = "") -> SheetView:
        """Goes on until the cursor stands in the section, or on the line, named ``until``, the
        sheet is done, or nothing plausible is left to do. Moves the clock."""
        for wait in self.steps(number, hands, plan, until):
            self.clock.minutes(wait)
        return self.look(number)

    def steps(
        self, number: int, hands: Hands, plan: Plan, until: str = "", *, within: str = ""
    ) -> Generator[float, None, None]:
        """The same, deed by deed: each value is the minutes before the next one. ``within`` ends
        it where the cursor leaves that section."""
        view = self.look(number)
        while True:
            state = view.sheet.cursor
            if state is None or until in (state.line.section, state.line.key):
                return
            if within not in ("", state.line.section):
                return
            wait = self._takes(view.sheet, state)
            yield wait
            if wait > 15:
                view = self.look(number)
            after = self._answer(view, state, hands, plan)
            if after is None:
                return
            self._seen[number] = view = after

    def _takes(self, sheet: Sheet, state: LineState) -> float:
        chance = self._chance(sheet, state, "takes")
        line = state.line
        if isinstance(line, Wait) and "started" in state.given:
            return line.duration.value_si / 60 + chance.uniform(0.5, 4)
        last = state.past[-1].answer if state.past and not state.given else ""
        return SLOW.get(last, 0.0) + chance.triangular(0.4, 4, 1)

    def _chance(self, sheet: Sheet, state: LineState, what: str) -> Random:
        return draw(self.seed, sheet.facts.number, state.line.key, what, len(state.past))

    def _answer(
        self, view: SheetView, state: LineState, hands: Hands, plan: Plan
    ) -> SheetView | None:
        """Does the next deed; None when this line is not the walker's to settle."""
        slot = state.next_slot
        if slot is None:
            return self._settle(view, state, hands)
        if slot.ask is Ask.OFFICE:
            return self._office(view, state, hands)
        who = hands.desk if state.line.section in COUNTER else hands.bench
        typed, in_hand = self._typed(view.sheet, state, slot, who, plan)
        if slot.ask is Ask.LOT and not typed:
            return None  # nothing good on the shelf
        number, key = view.heading.number, state.line.key
        if key in plan.slips and not state.past and slot.ask is Ask.QUANTITY:
            return self._slip(view, state, slot, who, typed, in_hand)
        done = entries.record_entry(
            self.shop,
            who.initials,
            number,
            key,
            typed,
            slot=slot.name,
            confirmed=True,
            in_hand=in_hand,
            known=view,
        )
        return done.view

    def _slip(
        self,
        view: SheetView,
        state: LineState,
        slot: Slot,
        who: Member,
        typed: str,
        in_hand: dict[str, str],
    ) -> SheetView:
        """Typed wrongly, seen at once, corrected with the reason. What no instrument at hand
        could have shown is refused where it is typed, and typed right at once."""
        wrong = saying.misread(typed)
        number, key = view.heading.number, state.line.key
        try:
            first = entries.record_entry(
                self.shop, who.initials, number, key, wrong, confirmed=True, in_hand=in_hand
            )
        except Refused:
            return entries.record_entry(
                self.shop, who.initials, number, key, typed, confirmed=True, in_hand=in_hand
            ).view
        self.clock.minutes(1)
        return entries.correct_entry(
            self.shop,
            who.initials,
            number,
            first.entry_id,
            typed,
            "figures swapped when typing",
            confirmed=True,
            in_hand=in_hand,
        ).view

    def _settle(self, view: SheetView, state: LineState, hands: Hands) -> SheetView | None:
        """Outside its limit with nothing decided that settles it: conceded where it may be."""
        word = state.given["disposition"].answer if "disposition" in state.given else ""
        if state.state is not State.UNRESOLVED or word not in ("ask customer", "reuse"):
            return None
        return bench.concede(
            self.shop,
            view.heading.number,
            state.line.key,
            "fit for a season; to be looked at again at the next overhaul",
            self.crew.role("manager")[0].signature,
            view.heading.customer,
            "by telephone, confirmed by e-mail",
        )

    def _office(self, view: SheetView, state: LineState, hands: Hands) -> SheetView | None:
        number, quote = view.heading.number, view.sheet.facts.quote
        if state.line.key == QUOTED:
            return office.make_quote(self.shop, hands.desk.initials, number)
        if state.line.key != APPROVAL or quote is None:
            return None
        return office.record_answer(
            self.shop,
            hands.desk.initials,
            number,
            approved=True,
            by=view.heading.customer,
            how=self._chance(view.sheet, state, "how").choice(saying.HOW),
            cap_cents=saying.cap(quote.total_cents),
        )

    # What is typed -----------------------------------------------------------------------------

    def _typed(
        self, sheet: Sheet, state: LineState, slot: Slot, who: Member, plan: Plan
    ) -> tuple[str, dict[str, str]]:
        chance = self._chance(sheet, state, slot.name)
        outside = "" if state.past else plan.outside.get(state.line.key, "")
        match slot.ask:
            case Ask.DONE:
                return "", {}
            case Ask.LINES:
                return claiming.about(sheet, slot, chance), {}
            case Ask.WORDS if state.line.key == WHY:
                return claiming.why(sheet), {}
            case Ask.WORDS:
                return saying.words(state.line, slot, chance, sheet.facts.number), {}
            case Ask.CHOICE:
                claimed = claiming.choice(sheet, state.line, slot, chance)
                if claimed is not None:
                    return claimed, {}
                defects = 0.0 if state.past else plan.defects
                return saying.choice(sheet, state, slot, chance, outside, defects), {}
            case Ask.SIGN:
                return self._signature(sheet, state, who), {}
            case Ask.INSTRUMENT:
                return self._scan(sheet, state), {}
            case Ask.LOT:
                return self._lot(sheet, state), {}
        return self._quantity(sheet, state, slot, chance, outside)

    def _quantity(
        self, sheet: Sheet, state: LineState, slot: Slot, chance: Random, outside: str
    ) -> tuple[str, dict[str, str]]:
        number, section = sheet.facts.number, state.line.section
        warm = draw(self.seed, number, section, self.clock().date()).uniform(13, 25)
        shop_k = 273.15 + warm
        if isinstance(state.line, Regulator) and slot.name == "setting":
            return self._setting(sheet, state, slot), {}
        size = self._chance(sheet, state, "size").random()
        if isinstance(state.line, Again) and slot.name == "value":
            typed = claiming.quantity(sheet, state.line, slot, chance, shop_k)
        else:
            typed = values.quantity(sheet, state, slot, chance, outside, shop_k, size)
        kind = getattr(state.line, "instrument", "")
        if not typed or not kind or slot.name in ("temperature", "gas_temperature"):
            return typed, {}
        si = quantities.parse(typed, unit=slot.unit).value_si
        code = tools.covering(self._in_reach(), kind, si, self.clock())
        return typed, {kind: code} if code else {}

    def _setting(self, sheet: Sheet, state: LineState, slot: Slot) -> str:
        gas, plan = state.given["gas_temperature"].value_si, sheet.procedure.charge
        assert gas is not None
        assert plan is not None
        rig = next(
            (
                other.given["instrument"].answer
                for other in sheet.section(state.line.section)
                if isinstance(other.line, Prepare)
                and other.line.instrument == "rig"
                and "instrument" in other.given
            ),
            "",
        )
        with self.shop.read() as db:
            past = charges.losses(db, sheet.procedure.model, rig)
        advice = charging.advise(plan, sheet.shop, gas, past)
        half_bar = round(quantities.from_si(advice.setting_pa, "bar") * 2) / 2
        return values.written(half_bar, "bar", 0.1)

    def _signature(self, sheet: Sheet, state: LineState, who: Member) -> str:
        order = self._chance(sheet, state, "signs").sample(
            self.crew.members, len(self.crew.members)
        )
        order.sort(key=lambda one: (one.initials != who.initials, one.role != "technician"))
        for member in order:
            if people.signature_refused(sheet, state, member.initials, member.role) is None:
                return member.signature
        return who.signature

    def _scan(self, sheet: Sheet, state: LineState) -> str:
        assert isinstance(state.line, Prepare)
        kind, now = state.line.instrument, self.clock()
        needed = _highest_setting_pa(sheet)
        if kind == "bottle":
            with self.shop.read() as db:
                return tools.bottle(db, needed)
        if state.line.section == "charge":
            return tools.rated(self._in_reach(), kind, needed, now)
        return tools.covering(self._in_reach(), kind, _first_reading(sheet, kind), now)

    def _lot(self, sheet: Sheet, state: LineState) -> str:
        """The lot that goes first; "" where the shelf has none to give."""
        assert isinstance(state.line, Issue)
        with self.shop.read() as db:
            found = lots.of_part(db, state.line.part)
            taken = lots.issued_to_mates(db, sheet, state.line)
        mate, of_set = bool(state.line.mates), {lot.set_number for lot in taken}
        good = kits.good_lots(found, self.clock().date(), matched=mate)
        fits = [lot for lot in good if not of_set or lot.set_number in of_set]
        return fits[0].number if fits else ""

    def _in_reach(self) -> tuple[tools.Tool, ...]:
        if self._tools is None:
            with self.shop.read() as db:
                self._tools = tuple(tools.tools(db))
        return self._tools


def _highest_setting_pa(sheet: Sheet) -> float:
    """What the supply has to give for this charge, gauge, on a warm day."""
    plan: GasCharge | None = sheet.procedure.charge
    if plan is None:
        return 0.0
    return plan.target.value_si * 1.06 + sheet.shop.overset.default_pa


def _first_reading(sheet: Sheet, kind: str) -> float:
    """A value that the tool got ready for the build will have to read."""
    for state in sheet.section("build"):
        if getattr(state.line, "instrument", "") == kind:
            target = getattr(state.line, "target", None)
            if target is not None:
                return float(target.value_si)
    return 0.001
