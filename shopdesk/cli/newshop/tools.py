"""The instruments a procedure asks for, and a bottle where it charges."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime, time
from functools import partial
from typing import TYPE_CHECKING, Any

from shopdesk.cli.asking import readers
from shopdesk.cli.asking.asker import Asked, Asker
from shopdesk.cli.newshop.setting_up import SettingUp
from shopdesk.errors import BadInput

if TYPE_CHECKING:
    from shopdesk.desk.keeping import NewInstrument
    from shopdesk.procedure import Procedure, Quantity

BOTTLE = "bottle"
UNDER_PRESSURE = ("rig", "hose", "regulator")
_EXAMPLES = {
    "torque wrench": ("W-01", "20 to 200 N·m", "1 N·m"),
    "pressure gauge": ("G-01", "0 to 400 bar", "0.5 bar"),
    "thermometer": ("T-01", "-20 to 120 C", "0.1 C"),
    "caliper": ("V-01", "0 to 150 mm", "0.01 mm"),
    "bore gauge": ("K-01", "35 to 60 mm", "0.002 mm"),
    "depth gauge": ("D-01", "0 to 150 mm", "0.01 mm"),
    "rig": ("R-01", "350 bar", "8 mL"),
    "hose": ("H-01", "400 bar", ""),
    "regulator": ("P-01", "200 bar", ""),
}


@dataclass
class Needs:
    """What an instrument of a kind has to show: figures as the procedures write them, and what
    they measure."""

    figures: dict[str, float] = field(default_factory=dict)
    units: set[str] = field(default_factory=set)


def kinds(procedures: Iterable["Procedure"]) -> dict[str, Needs]:
    """Every kind of instrument the procedures ask for."""
    found: dict[str, Needs] = {}
    for doc in procedures:
        for line in doc.lines:
            kind = getattr(line, "instrument", "")
            if kind and not getattr(line, "snug", False):
                needs = found.setdefault(kind, Needs())
                for figure in _figures(doc, line):
                    needs.figures[figure.typed] = figure.value_si
                    needs.units.add(figure.unit)
                if unit := getattr(line, "unit", ""):
                    needs.units.add(unit)
    return found


def _figures(doc: "Procedure", line: Any) -> list["Quantity"]:
    limit = getattr(line, "limit", None)
    found = [getattr(line, "target", None), limit and limit.low, limit and limit.high]
    if type(line).__name__ in ("Charge", "Leak") and doc.charge is not None:
        found.append(doc.charge.target)
    return [each for each in found if each is not None]


def add(up: SettingUp) -> None:
    """Asks for one of each kind that is not there yet, and for more where there are more."""

    there = up.so_far()
    wanted = kinds(up.procedures())
    lacking = {
        kind: needs
        for kind, needs in wanted.items()
        if kind not in there.instruments and kind != BOTTLE
    }
    if codes := up.ask.put(partial(_asked, up, lacking), partial(_write, up)):
        up.done(f"{codes} on the list of instruments.")
    if BOTTLE in wanted and not there.bottles:
        _bottle(up)


def _write(up: SettingUp, found: "list[NewInstrument]") -> str:
    from shopdesk.desk import keeping

    codes = up.so_far().codes
    for new in found:
        if new.code not in codes:
            keeping.add_instrument(up.shop, up.who, new)
    return ", ".join(new.code for new in found)


def _asked(up: SettingUp, lacking: dict[str, Needs], ask: Asker) -> list["NewInstrument"]:
    found: list[NewInstrument] = []
    taken = set(up.so_far().codes)
    for kind, needs in lacking.items():
        found += _of_kind(up, kind, needs, taken | {one.code for one in found}, ask)
    return found


def _of_kind(
    up: SettingUp, kind: str, needs: Needs, taken: set[str], ask: Asker
) -> list["NewInstrument"]:
    ask.head(f"The {kind}", _remark(kind, needs))
    found: list[NewInstrument] = []
    while True:
        label = f"{kind} {len(found) + 1}"
        missing = [each for each, si in needs.figures.items() if not _covered(si, found)]
        another = f"Another {kind}: none so far shows {', '.join(missing)}" if missing else ""
        first = another if found and another else f"Code of a {kind}, as it is engraved"
        under = kind in UNDER_PRESSURE
        fields = _under_pressure(up, label, kind) if under else _measuring(up, label, kind, needs)
        code = partial(_free, {*taken, *(one.code for one in found)})
        row = ask.row([replace(fields[0], words=first, read=code), *fields[1:]])
        if row is None:
            return found
        found.append(_rated(kind, row) if under else _ranged(kind, row))


def _covered(si: float, found: list["NewInstrument"]) -> bool:
    return any(
        one.low_si is not None and one.high_si is not None and one.low_si <= si <= one.high_si
        for one in found
    )


def _remark(kind: str, needs: Needs) -> str:
    if kind in UNDER_PRESSURE:
        size = "SPACE; " if kind == "rig" else ""
        return (
            f"Nothing is charged through what has no rating. CODE; RATING; {size}DUE; CERTIFICATE "
            "at once, or one by one; Enter for no more."
        )
    said = f"It has to show {', '.join(needs.figures)}. " if needs.figures else ""
    low = "A low one, 0 to 4 bar, shows zero best. " if kind == "pressure gauge" else ""
    return (
        f"{said}{low}CODE; RANGE; STEP; DUE; CERTIFICATE at once, or one by one; Enter for no more."
    )


def _free(taken: set[str], text: str) -> str:
    """A code that nothing else has."""
    code = readers.maybe(readers.words(20))(text).upper()
    if code in taken:
        raise BadInput(f"code {code} is another's already; read it off the instrument again")
    return code


def _code(label: str, example: str) -> Asked:
    return Asked(label, "Code", str, example, "")


def _due(up: SettingUp, label: str) -> list[Asked]:
    from shopdesk.tui.dates import read_date

    def read(text: str) -> datetime:
        return datetime.combine(read_date(text, up.today), time(23)).astimezone()

    return [
        Asked(f"{label} due", "Its next check is due on", read, "2027-03-31, or +365"),
        Asked(
            f"{label} certificate",
            "Certificate of the last check",
            readers.maybe(readers.words(60)),
            "CAL-3101",
            "",
        ),
    ]


def _measuring(up: SettingUp, label: str, kind: str, needs: Needs) -> list[Asked]:
    code, span, step = _EXAMPLES.get(kind, ("X-01", "0 to 100 mm", "0.01 mm"))
    return [
        _code(label, code),
        Asked(f"{label} range", "From what to what it reads", partial(_span, needs), span),
        Asked(f"{label} step", "The smallest step it shows", readers.maybe(_step), step, ""),
        *_due(up, label),
    ]


def _span(needs: Needs, text: str) -> tuple[str, str, str]:
    """Raises BadInput for a range of what the procedures' lines do not measure."""
    from shopdesk.procedure import amounts

    low, high, unit = readers.span(text)
    wanted = {amounts.kind_of(each) for each in needs.units}
    if wanted and amounts.kind_of(unit) not in wanted:
        words = " or ".join(sorted(each.words for each in wanted))
        raise BadInput(f"read {text[:40]!r}, expected {words}: that is what its lines ask for")
    return low, high, unit


def _step(text: str) -> str:
    from shopdesk.procedure import amounts

    return amounts.read(text).typed


def _under_pressure(up: SettingUp, label: str, kind: str) -> list[Asked]:
    code, rating, volume = _EXAMPLES[kind]
    pressure = readers.quantity("bar", "psi")
    small = readers.quantity("mL", "in³")
    dead = [Asked(f"{label} volume", "Gas space inside it", readers.maybe(small), volume, "")]
    return [
        _code(label, code),
        Asked(f"{label} rating", "Pressure it is rated for", pressure, rating),
        *(dead if kind == "rig" else ()),
        *_due(up, label),
    ]


def _ranged(kind: str, row: tuple[Any, ...]) -> "NewInstrument":
    from shopdesk import quantities
    from shopdesk.desk.keeping import NewInstrument
    from shopdesk.procedure import amounts

    code, (low, high, unit), step, due, certificate = row
    shown = amounts.read(step) if step else None
    return NewInstrument(
        code,
        kind,
        f"{kind} {low} to {high}",
        unit=unit,
        low_si=readers.si(low, unit),
        high_si=readers.si(high, unit),
        resolution_si=None
        if shown is None
        else quantities.span_to_si(quantities.from_si(shown.value_si, shown.unit), shown.unit),
        due=due,
        certificate=certificate,
        interval_days=365,
    )


def _rated(kind: str, row: tuple[Any, ...]) -> "NewInstrument":
    from shopdesk.desk.keeping import NewInstrument

    code, rating, *volume, due, certificate = row
    dead = volume[0] if volume else ""
    return NewInstrument(
        code,
        kind,
        f"{kind}, rated {rating}",
        rating_pa=readers.si(rating, "bar"),
        dead_volume_m3=readers.si(dead, "mL") if dead else None,
        due=due,
        certificate=certificate,
        interval_days=365,
    )


def _bottle(up: SettingUp) -> None:
    from shopdesk.desk import keeping

    row = up.ask.through(_asked_bottle, whole=False)
    if row is None:
        return
    code, volume, pressure, rating = row
    keeping.add_bottle(
        up.shop,
        up.who,
        code=code,
        gas="nitrogen",
        volume_m3=readers.si(volume, "L"),
        pressure_pa=readers.si(pressure, "bar"),
        rating_pa=readers.si(rating, "bar"),
    )
    up.done(f"{code}: nitrogen bottle, on the list.")


def _asked_bottle(ask: Asker) -> tuple[Any, ...] | None:
    ask.head("The nitrogen bottle", "CODE; SIZE; PRESSURE; RATING at once, or one by one.")
    pressure = readers.quantity("bar", "psi")
    read = readers.maybe(readers.words(20))
    return ask.row(
        [
            Asked(BOTTLE, "Code on the bottle", lambda text: read(text).upper(), "N2-01", ""),
            Asked("bottle size", "Its size in water", readers.quantity("L"), "50 L", "50 L"),
            Asked("bottle pressure", "What its gauge shows", pressure, "180 bar", "200 bar"),
            Asked(
                "bottle rating", "Pressure it is filled to at most", pressure, "200 bar", "200 bar"
            ),
        ]
    )
