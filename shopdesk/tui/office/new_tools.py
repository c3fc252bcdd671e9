"""An instrument or a bottle put on the list: their forms."""

from datetime import date, datetime, time
from typing import TYPE_CHECKING

from shopdesk.errors import BadInput
from shopdesk.tui.dates import read_date
from shopdesk.tui.filling import Field
from shopdesk.tui.forms import FormScreen

if TYPE_CHECKING:
    from shopdesk.desk.keeping import NewInstrument
    from shopdesk.desk.shop import Shop
    from shopdesk.tui.app import ShopApp


def instrument(app: "ShopApp", today: date) -> FormScreen:
    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import keeping

        new = _new(given, today)
        keeping.add_instrument(shop, app.person, new)
        return f"{new.code.upper()} is on the list"

    fields = (
        Field("code", "Code", hint="as it is engraved: W-10"),
        Field("kind", "Kind", hint="torque wrench, pressure gauge, bore gauge, rig …"),
        Field("description", "What it is"),
        Field("unit", "Unit", hint="what it reads in: N·m, bar, mm", optional=True),
        Field("low", "Range from", optional=True),
        Field("high", "Range to", optional=True),
        Field("resolution", "Resolution", hint="the step it shows, a number", optional=True),
        Field("rating", "Rated for", hint="rig, hose, regulator: 350 bar", optional=True),
        Field("space", "Gas space", hint="of a rig: 8 mL", optional=True),
        Field("days", "Every days", hint="days between checks", optional=True),
        Field("cycles", "Every readings", hint="readings between checks", optional=True),
        Field("due", "Due", hint="a date, or +365"),
        Field("certificate", "Certificate", optional=True),
    )
    return FormScreen("A new instrument", fields, deed)


def bottle(app: "ShopApp") -> FormScreen:
    def deed(shop: "Shop", given: dict[str, str]) -> str:
        from shopdesk.desk import keeping

        keeping.add_bottle(
            shop,
            app.person,
            code=given["code"],
            gas="nitrogen",
            volume_m3=_si(given["volume"], "L", "Size"),
            pressure_pa=_si(given["pressure"], "bar", "Pressure"),
            rating_pa=_si(given["rating"], "bar", "Rated for"),
        )
        return f"bottle {given['code'].upper()} is on the list"

    fields = (
        Field("code", "Code", hint="on its label: N2-16"),
        Field("volume", "Size", hint="its room in water: 50 L"),
        Field("pressure", "Pressure", hint="what its gauge shows: 200 bar"),
        Field("rating", "Rated for", hint="what it is filled to at most: 200 bar"),
    )
    context = ("Nitrogen only, by its label and not by its colour: no other gas is charged.",)
    return FormScreen("A new nitrogen bottle", fields, deed, context=context)


def _new(given: dict[str, str], today: date) -> "NewInstrument":
    from shopdesk import quantities
    from shopdesk.desk.keeping import NewInstrument

    unit = quantities.canonical(given["unit"]) if given["unit"] else ""
    if bool(given["low"]) != bool(given["high"]) or (given["high"] and not unit):
        raise BadInput("Range: give both ends and the unit they are in, or none of them")
    low, high = (
        quantities.parse(given[name], unit=unit).value_si if given[name] else None
        for name in ("low", "high")
    )
    step = _number(given["resolution"]) if given["resolution"] and unit else None
    return NewInstrument(
        given["code"],
        given["kind"].strip().casefold(),
        given["description"],
        unit=unit,
        low_si=low,
        high_si=high,
        resolution_si=None if step is None else quantities.span_to_si(step, unit),
        rating_pa=_si(given["rating"], "bar", "Rated for") if given["rating"] else None,
        dead_volume_m3=_si(given["space"], "mL", "Gas space") if given["space"] else None,
        interval_days=_count(given["days"], "Every days"),
        interval_cycles=_count(given["cycles"], "Every readings"),
        due=moment(read_date(given["due"], today), 23),
        certificate=given["certificate"],
    )


def _number(text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise BadInput(f"Resolution: read {text.strip()[:20]!r}; expected a number") from None


def _si(text: str, unit: str, label: str) -> float:
    """A quantity above zero in SI. A bare figure is asked for its unit."""
    from shopdesk import quantities

    other = {"bar": "psi", "L": "in³", "mL": "in³"}[unit]
    try:
        found = quantities.parse(text, unit=unit, units=(other,)).value_si
    except BadInput as fault:
        raise BadInput(f"{label}: {fault}") from fault
    if found <= 0:
        raise BadInput(f"{label}: read {text.strip()[:20]!r}; expected more than zero")
    return found


def _count(text: str, label: str) -> int | None:
    if not text.strip():
        return None
    if not text.strip().isascii() or not text.strip().isdigit() or not 0 < int(text) < 1_000_000:
        raise BadInput(f"{label}: read {text.strip()[:20]!r}; expected a whole number")
    return int(text)


def moment(day: date, hour: int) -> datetime:
    return datetime.combine(day, time(hour)).astimezone()
