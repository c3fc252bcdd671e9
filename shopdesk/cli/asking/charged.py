"""The questions of a unit's ports and of its charge."""

from typing import TYPE_CHECKING

from shopdesk.cli.asking import readers
from shopdesk.cli.asking.asker import Asked, Asker

if TYPE_CHECKING:
    from shopdesk.procedure.writing import Gas, Port


def ports(ask: Asker) -> "tuple[Port, ...]":
    from shopdesk.procedure.writing import Port

    names = ask.ask(
        Asked(
            "ports",
            "Its oil ports, with commas between",
            readers.several(),
            "port A, port B",
            "oil port",
        )
    )
    return tuple(Port(name, _closed(ask, name, "plugged")) for name in names)


def _closed(ask: Asker, port: str, usual: str) -> str:
    states = ("plugged", "capped", "open")
    read = readers.one_of(*states)
    words = f"How is the {port} left for the road: plugged, capped or open?"
    return str(ask.ask(Asked(f"{port} leaves", words, read, usual=usual)))


def gas(ask: Asker, rated: str, reference: str, units: tuple[str, ...]) -> "Gas":
    from shopdesk.procedure.writing import Gas, Port

    pressure, time = readers.quantity(*units), readers.quantity("min", "h")
    below = readers.no_more_than
    ask.head("The gas", "Dry nitrogen; pressures as the gauge shows them.")
    limit = ask.ask(
        Asked(
            "precharge limit",
            "Highest gas pressure it may ever be charged to",
            below(pressure, "bar", rated, "rated pressure"),
            "90 bar",
        )
    )
    target = ask.ask(
        Asked(
            "target",
            "Charge it is to hold",
            below(pressure, "bar", limit, "precharge limit"),
            "70 bar",
        )
    )
    degrees = readers.quantity("C", "F")
    usual_loss = "1 bar" if "bar" in target else "15 psi"
    return Gas(
        limit=limit,
        target=target,
        reference=ask.ask(
            Asked("at", "At which temperature is that charge stated", degrees, "68 F", reference)
        ),
        tolerance=ask.ask(
            Asked(
                "charge tolerance",
                "By how much may the charge differ, a pressure or a share",
                readers.tolerance(*units),
                "2 bar",
                "3 %",
            )
        ),
        volume=ask.ask(
            Asked("gas volume", "Its gas space", readers.quantity("L", "in³"), "0.16 L")
        ),
        hottest=ask.ask(Asked("hottest", "Hottest it gets at work", degrees, "140 F", "60 C")),
        valve=Port("gas valve", _closed(ask, "gas valve", "capped")),
        before_proof=ask.ask(
            Asked(
                "charged first",
                "Must it be charged before oil pressure is put on (a bladder must), yes or no?",
                readers.yes,
                usual="no",
            )
        ),
        scanned=ask.ask(
            Asked(
                "scanned",
                "What is scanned for a charge beside bottle and rig, so that its rating is "
                "minded? regulator, hose, or none",
                readers.some_of(("regulator", "hose")),
                usual="regulator, hose",
            )
        ),
        zero_held=ask.ask(
            Asked(
                "zero held",
                "How long zero is held before it counts as vented",
                time,
                "5 min",
                "10 min",
            )
        ),
        settle=ask.ask(
            Asked(
                "settle", "How long the charge settles with the supply on", time, "15 min", "10 min"
            )
        ),
        hold=ask.ask(
            Asked(
                "hold", "How long it stands charged before it is read again", time, "48 h", "24 h"
            )
        ),
        loss=ask.ask(Asked("loss", "Loss allowed in that time", pressure, "0.5 bar", usual_loss)),
    )
