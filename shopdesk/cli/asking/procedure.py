"""The questions from which a first procedure is written."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from shopdesk.cli.asking import charged, readers
from shopdesk.cli.asking.asker import Asked, Asker
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.procedure.writing import Bench, Joint, Measure, Part, Plan, Stands

PRESSURE = ("bar", "psi")
_INSTRUMENT = {"length": "caliper", "pressure": "pressure gauge", "temperature": "thermometer"}
ROW = "one by one, or all at once with semicolons between; Enter where there are no more"


def plan(
    ask: Asker,
    on: date,
    *,
    model: str = "",
    reference: str = "20 C",
    pressure: tuple[str, ...] = PRESSURE,
) -> "Plan":
    """Asks for everything; gives what the document is written from. ``pressure``: the units used
    in the shop; a bare figure is taken where there is only one."""
    from shopdesk.procedure.writing import Plan

    ask.head("The unit", "What stands on its plate and in its drawing; figures with their unit.")
    number = ask.ask(Asked("model", "Number of the unit model", _model, "TP-016", model or None))
    name = ask.ask(
        Asked("name", "What the model is called", readers.words(), "Piston accumulator 0.16 L")
    )
    stands = _stands(ask, number)
    gas = ask.ask(
        Asked("gas", "Does it hold gas under pressure, yes or no?", readers.yes, usual="yes")
    )
    read = readers.quantity(*pressure)
    rated = ask.ask(Asked("rated", "Rated pressure: what it may never exceed", read, "250 bar"))
    ports = charged.ports(ask)
    charge = charged.gas(ask, rated, reference, pressure) if gas else None
    parts = _parts(ask)
    readings = _measures(
        ask,
        "reading",
        "Readings of the teardown",
        "What is measured on the parts before it is decided what stays, " + ROW + ".",
        "bore of the tube; 40.00 to 40.06 mm",
        tuple(part for part in parts if part.kept),
    )
    joints = _joints(ask)
    bench = _bench(ask, rated, pressure)
    minutes = _minutes(ask, gas)
    return Plan(
        model=number,
        name=name,
        rated=rated,
        stands=stands,
        bench=bench,
        on=on,
        gas=charge,
        ports=ports,
        parts=parts,
        readings=readings,
        joints=joints,
        minutes=minutes,
        units=PRESSURE[::-1] if "psi" in rated else PRESSURE,
    )


def _model(text: str) -> str:
    found = readers.words(20)(text).upper()
    if " " in found or "/" in found:
        raise BadInput(f"read {text[:30]!r}, expected a number without spaces, such as TP-016")
    return found


def _stands(ask: Asker, model: str) -> "Stands":
    from shopdesk.procedure.writing import Stands

    words = (
        "Where do its figures stand, and in which revision? It is printed beside them; single "
        "readings may say another"
    )
    example, usual = f"drawing {model}-01 rev B", f"shop sheet {model} rev 1"
    return Stands(*ask.ask(Asked("source", words, readers.source, example, usual)))


def _parts(ask: Asker) -> "tuple[Part, ...]":
    from shopdesk.procedure.writing import Part

    ask.head("Its parts", "Seals and parts in the order they go in, " + ROW + ".")

    def fields(label: str) -> list[Asked]:
        return [
            Asked(
                label,
                "Part number",
                lambda text: readers.maybe(readers.words(60))(text).upper(),
                "OR-219-N90; piston seal; 1; always; lips to the oil",
                "",
            ),
            Asked(f"{label} what", "What it is", readers.words(60), "piston seal"),
            Asked(f"{label} pieces", "How many pieces", readers.whole(1, 999), "2", "1"),
            Asked(
                f"{label} new",
                "New always, or kept when it is good?",
                readers.one_of("always", "kept"),
                usual="always",
            ),
            Asked(
                f"{label} how",
                "How it goes in",
                readers.maybe(readers.words(100)),
                "lips to the oil, clean oil",
                "",
            ),
        ]

    return tuple(
        Part(number, what, pieces, new == "kept", how)
        for number, what, pieces, new, how in ask.rows("part", fields)
    )


def _measures(
    ask: Asker,
    label: str,
    title: str,
    remark: str,
    example: str,
    kept: "tuple[Part, ...]" = (),
) -> "tuple[Measure, ...]":
    from shopdesk.procedure.writing import Measure, Stands

    ask.head(title, remark)
    limit, whole = example.split("; ")[1], f"{example}; caliper; test sheet T-4 rev B"

    def fields(name: str) -> list[Asked]:
        return [
            Asked(name, "What is read", readers.maybe(readers.words(80)), whole, ""),
            Asked(f"{name} limit", "What is good", readers.limit, f"{limit}, at most 10 mL"),
            Asked(
                f"{name} instrument",
                "With which kind of instrument, or none",
                readers.words(40),
                "depth gauge",
                follows=lambda before: _instrument(before[1]),
            ),
            Asked(
                f"{name} source",
                "Where the limit stands, if elsewhere than its other figures",
                lambda text: Stands(*readers.source(text)) if text else None,
                "test sheet T-4 rev B",
                "",
            ),
            *([_goes(name, kept)] if kept else []),
        ]

    return tuple(
        Measure(what, unit, low, high, "" if kind == "none" else kind.casefold(), stands, *part)
        for what, (low, high, unit), kind, stands, *part in ask.rows(label, fields)
    )


def _goes(name: str, kept: "tuple[Part, ...]") -> Asked:
    """Which part is replaced for it; the one whose name the reading holds is the usual answer."""
    named = {part.what: part.number for part in kept}
    none = "none"

    def usual(before: Sequence[Any]) -> str:
        said = str(before[0]).casefold()
        return next((what for what in named if _last(what) in said), none)

    return Asked(
        f"{name} part",
        f"Which part is replaced when it is outside: {', '.join(named)} or none?",
        lambda text: named.get(readers.one_of(*named, none)(text), ""),
        follows=usual,
    )


def _last(what: str) -> str:
    """The word a part is spoken of by: "disc" of "membrane disc"."""
    return what.casefold().split()[-1]


def _instrument(limit: tuple[str, str, str]) -> str:
    from shopdesk import quantities

    return _INSTRUMENT.get(quantities.dimension_of(limit[2]).value, "none")


def _joints(ask: Asker) -> "tuple[Joint, ...]":
    from shopdesk.procedure.writing import Joint

    ask.head("Torques", "Joints in the order they are pulled, " + ROW + ".")
    torque = ("N·m", "in-lb", "ft-lb")

    def fields(label: str) -> list[Asked]:
        return [
            Asked(
                label,
                "What is tightened",
                readers.maybe(readers.words(80)),
                "Gas cap into the tube; 82 N·m; 5 %; 1; 32 mm socket",
                "",
            ),
            Asked(f"{label} torque", "To which torque", readers.quantity(*torque), "82 N·m"),
            Asked(
                f"{label} tolerance",
                "How exactly, a torque or a share",
                readers.tolerance(*torque),
                "4 N·m",
                "5 %",
            ),
            Asked(f"{label} count", "How many are pulled so", readers.whole(1, 99), "6", "1"),
            Asked(
                f"{label} bit", "With which bit", readers.maybe(readers.words(40)), "8 mm hex", ""
            ),
        ]

    return tuple(Joint(*row) for row in ask.rows("torque", fields))


def _bench(ask: Asker, rated: str, units: tuple[str, ...]) -> "Bench":
    from shopdesk.procedure.writing import Bench

    ask.head("The test bench", "Liquid, air bled out, guard shut.")
    read = readers.no_more_than(readers.quantity(*units), "bar", rated, "rated pressure")
    pressure = ask.ask(
        Asked(
            "proof pressure", "Pressure it is proved at, never above its rating", read, usual=rated
        )
    )
    held = ask.ask(
        Asked(
            "proof held",
            "How long it is shut in there",
            readers.quantity("min", "h"),
            "5 min",
            "5 min",
        )
    )
    tests = _measures(
        ask,
        "test",
        "Tests",
        "What is read on the bench; outside and dry is asked anyway, " + ROW + ".",
        "pressure after the hold; 245 to 250 bar",
    )
    return Bench(pressure, held, tests)


def _minutes(ask: Asker, gas: bool) -> tuple[tuple[str, int], ...]:
    """What the quote reckons with: two are asked, the others are what such work usually takes."""
    ask.head("Time", "For the quote: minutes that are paid for.")
    read = readers.whole(1, 9999)
    taken = ask.ask(Asked("teardown minutes", "To take it apart and measure it", read, "40", "40"))
    built = ask.ask(Asked("build minutes", "To build it", read, "55", "60"))
    usual = {"receipt": 10, "vent": 25, "teardown": taken, "parts": 10, "build": built}
    usual |= {"proof": 30, "charge": 30, "hold": 10, "release": 10, "shipment": 5}
    return tuple(
        (section, minutes)
        for section, minutes in usual.items()
        if gas or section not in ("vent", "charge", "hold")
    )
