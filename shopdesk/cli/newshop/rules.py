"""The shop's own rules: what it has to choose, the rest as it is usual."""

import re
from typing import TYPE_CHECKING, Any

from shopdesk.cli.asking import readers
from shopdesk.cli.asking.asker import Asked, Asker
from shopdesk.cli.newshop.setting_up import SettingUp
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.rules.beginning import Choices

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_HOUR = re.compile(r"([01]?[0-9]|2[0-4])[:.]([0-5][0-9])")


def adopt(up: SettingUp, chosen: "Choices") -> None:
    """Puts rules and side roads in force, writes them down in the folder."""
    from shopdesk.desk import keeping
    from shopdesk.desk.sample import reading
    from shopdesk.rules import beginning

    text = beginning.text(chosen, up.today)
    roads = (reading.folder() / "roads.toml").read_text(encoding="utf-8")
    keeping.adopt_document(up.shop, up.signs, "shop", text)
    keeping.adopt_document(up.shop, up.signs, "roads", roads)
    up.write("shop.toml", text)
    up.write("roads.toml", roads)
    up.done(f"The rules of {chosen.name}, revision 1, are in force.")


def choices(ask: Asker) -> "Choices":
    from shopdesk.rules.beginning import Choices

    name = _shop(ask)
    altitude, reference = _site(ask)
    units = _units(ask)
    money = _money(ask)
    ships, highest, transport, overset = _gas(ask)
    ask.head("Hours and paper")
    hour = _hour
    return Choices(
        name=name,
        altitude=altitude,
        reference=reference,
        **units,
        **money,
        ships_charged=ships,
        highest=highest,
        transport=transport,
        overset=overset,
        seals=ask.ask(
            Asked(
                "seal standard",
                "By which standard is a seal's time in store reckoned: ISO 2230, ARP5316 or "
                "MIL-HDBK-695E?",
                _standard,
                usual="ISO 2230",
            )
        ),
        paper=ask.ask(
            Asked("paper", "Paper: A4 or Letter?", readers.one_of("A4", "Letter"), usual="A4")
        ),
        opens=ask.ask(Asked("opens", "The shop opens at", hour, "06:30", "07:00")),
        closes=ask.ask(Asked("closes", "and closes at", hour, "15:30", "16:00")),
        days=ask.ask(
            Asked(
                "days",
                "Working days, with commas between",
                readers.some_of(_DAYS),
                "Monday, Tuesday",
                ", ".join(_DAYS[:5]),
            )
        ),
    )


def _shop(ask: Asker) -> str:
    ask.head("The shop", "What is chosen here stands in shop.toml and can be changed later.")
    return str(
        ask.ask(
            Asked(
                "shop",
                "Name of the shop, as it is to stand on certificates",
                readers.words(80),
                "Tern Point Works",
            )
        )
    )


def _site(ask: Asker) -> tuple[str, str]:
    altitude = ask.ask(
        Asked(
            "altitude",
            "How high above the sea it stands: gas is reckoned with the air's own pressure there",
            _altitude,
            "340 m",
            "0 m",
        )
    )
    degrees = readers.quantity("C", "F")
    words = "Temperature at which charges are stated"
    return altitude, ask.ask(Asked("reference", words, degrees, "68 F", "20 C"))


def _altitude(text: str) -> str:
    from shopdesk.calc import charge

    typed = readers.quantity("m", "ft", above_zero=False)(text)
    charge.site_atmosphere(readers.si(typed, "m"))
    return typed


def _units(ask: Asker) -> dict[str, Any]:
    def read(text: str) -> tuple[str, ...]:
        from shopdesk import quantities

        return tuple(quantities.canonical(each) for each in readers.several()(text))

    def asked(kind: str, example: str, usual: str) -> tuple[str, ...]:
        words = f"Units of {kind} used here, the usual one first"
        found: tuple[str, ...] = ask.ask(Asked(f"{kind} units", words, read, example, usual))
        return found

    return {
        "pressure_units": asked("pressure", "psi, bar", "bar, psi"),
        "torque_units": asked("torque", "in-lb, ft-lb", "N·m, in-lb, ft-lb"),
        "length_units": asked("length", "in, thou", "mm, in"),
    }


def _money(ask: Asker) -> dict[str, Any]:
    from shopdesk.rules.shop import cents, money

    def amount(text: str) -> str:
        return money(cents(text)).replace(",", "")

    ask.head("Money and time", "For quotes; every job's true cost is reckoned from its own.")
    number = readers.whole
    return {
        "currency": ask.ask(Asked("currency", "Currency", _currency, "USD", "EUR")),
        "rate": ask.ask(Asked("rate", "An hour's work", amount, "78.00", "75.00")),
        "margin": ask.ask(Asked("margin", "Margin in percent", number(0, 300), "22", "20")),
        "fee": ask.ask(
            Asked("fee", "What a look costs when no repair follows", amount, "95.00", "90.00")
        ),
        "warranty_months": ask.ask(
            Asked("warranty", "Months of warranty", number(0, 120), "6", "12")
        ),
        "promise_days": ask.ask(
            Asked(
                "promise",
                "Days to promise until the shop's own past can say",
                number(1, 365),
                "10",
                "15",
            )
        ),
    }


def _gas(ask: Asker) -> tuple[bool, str, str, str]:
    ask.head("Gas", "Local codes and the carrier's rules come before what is chosen here.")
    pressure = readers.quantity("bar", "psi")
    overset = ask.ask(
        Asked(
            "overset",
            "How much of a charge the rig takes when it comes off, until your own charges show it",
            pressure,
            "15 psi",
            "1 bar",
        )
    )
    words = "May charged units leave the shop, yes or no?"
    if not ask.ask(Asked("leaves charged", words, readers.yes, usual="no")):
        return False, "0 bar", "shop rule 3, transport", overset
    highest = ask.ask(Asked("highest leaving", "Charged up to which pressure", pressure, "100 bar"))
    stands = ask.ask(
        Asked(
            "transport rule",
            "Under which rule for pressurised goods",
            readers.words(120),
            "UN 3164, special provision of the carrier's road rules",
        )
    )
    return True, highest, stands, overset


def _hour(text: str) -> str:
    found = _HOUR.fullmatch(text.strip())
    if found is None:
        raise BadInput(f"read {text[:20]!r}, expected a time of day such as 07:00")
    return f"{int(found[1]):02d}:{found[2]}"


def _currency(text: str) -> str:
    plain = text.strip().upper()
    if not (plain.isascii() and plain.isalpha() and len(plain) == 3):
        raise BadInput(f"read {text[:20]!r}, expected three letters (ISO 4217), such as EUR")
    return plain


def _standard(text: str) -> str:
    from shopdesk.calc import shelf

    return shelf.standard_name(text)
