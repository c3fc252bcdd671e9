"""Springs and the settings they make."""

from shopdesk.calc import relief, spring
from shopdesk.calc.spring import Spring
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import (
    Calculation,
    Field,
    Found,
    Kind,
    Value,
    incomplete,
    one_of,
)
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.torque import length_field

_RATE = "N/mm"
_LBF_IN = 4.4482216152605 / 0.0254
_WINDING = ("wire", "outside")


def _spring(given: Given) -> Found:
    wound = None if given.has("rate") else _wound(given)
    rate = given.si("rate") if wound is None else wound.rate_n_m
    results = {"rate": _rate(rate)}
    sums = [f"k = {rate:.6g} N/m"]
    cautions: list[str] = []
    if wound is not None:
        sums = [_winding_sum(given, wound)]
        cautions += _solid(given, wound, results)
    if given.has("seat"):
        sums += _seat(given, rate, results)
    elif given.has("change") or given.has("preload-length"):
        raise incomplete("spring", [SPRING.field("seat")])
    return Found(
        results,
        "; ".join(sums),
        "k = G d⁴/(8 D³ n), any machine design text (Shigley, chapter 10); cracking pressure: "
        "force balance on the seat diameter (common practice, no source)",
        (*cautions, "The seat is where ball or poppet touches, not the ball's own diameter."),
    )


def _wound(given: Given) -> Spring:
    empty = [SPRING.field(name) for name in _WINDING if not given.has(name)]
    if empty:
        raise incomplete("spring", empty)
    wire, outside = given.si("wire"), given.si("outside")
    active = given.si("active") if given.has("active") else None
    if active is None and not given.has("total"):
        raise one_of("spring", "active", "total")
    ends = given.words("ends")
    total = given.si("total") if given.has("total") else (active or 0.0) + spring.ENDS[ends][0]
    return spring.spring(wire, outside, total, _modulus(given), active, ends)


def _modulus(given: Given) -> float:
    if given.has("shear-modulus"):
        return given.si("shear-modulus")
    if given.has("material"):
        return spring.shear_modulus(given.words("material"), given.si("wire"))
    raise one_of("spring", "shear-modulus", "material")


def _rate(rate_n_m: float) -> Value:
    return values.plain(
        rate_n_m / 1e3,
        _RATE,
        text=f"{rate_n_m / 1e3:.5g} N/mm ({rate_n_m / _LBF_IN:.5g} lbf/in)",
    )


def _winding_sum(given: Given, wound: Spring) -> str:
    return (
        f"D = outside - wire = {values.millimetres(wound.mean_diameter_m)}; k = G d⁴/(8 D³ n) = "
        f"{_modulus(given) / 1e9:.5g} GPa × ({values.millimetres(given.si('wire'))})⁴/(8 × "
        f"({values.millimetres(wound.mean_diameter_m)})³ × {wound.active:g}) = "
        f"{wound.rate_n_m / 1e3:.5g} N/mm"
    )


def _solid(given: Given, wound: Spring, results: dict[str, Value]) -> list[str]:
    """Solid length and what speaks against the spring, with its cautions."""
    unit = given.measured("wire").unit
    results["index"] = values.plain(wound.index)
    results["solid_length"] = values.quantity(wound.solid_length_m, unit)
    said = [] if given.has("total") else [
        f"Total coils were reckoned from the active ones with {given.words('ends')} ends."
    ]  # fmt: skip
    if given.has("free-length", "material"):
        check = spring.solid_check(
            wound,
            given.si("wire"),
            given.si("outside"),
            given.si("free-length"),
            given.words("material"),
        )
        results["solid_stress_share"] = values.percent(check.share_of_allowed, 1)
        return [*said, *check.cautions]
    if not spring.INDEX_LOW <= wound.index <= spring.INDEX_HIGH:
        said.append(f"Spring index {wound.index:.3g} is outside the usual 4 to 12.")
    return said


def _seat(given: Given, rate: float, results: dict[str, Value]) -> list[str]:
    """Cracking pressure and change of depth, and the sums that give them."""
    seat, back, sums = given.si("seat"), given.si_or("back-pressure", 0.0), []
    change = given.measured("change") if given.has("change") else None
    unit = change.unit.removeprefix("Δ") if change else "bar"
    if given.has("preload-length"):
        preload = given.si("preload-length")
        cracks = relief.cracking_pressure(rate, preload, seat, back)
        results["cracking_pressure"] = values.pressure(
            cracks + given.atmosphere_pa, unit, given.atmosphere_pa
        )
        sums.append(
            f"p = k x/(π/4 ds²) = {rate / 1e3:.5g} N/mm × {values.millimetres(preload)}/(π/4 × "
            f"({values.millimetres(seat)})²) + {values.bar(back)} = {values.bar(cracks)}"
        )
    if change:
        depth = relief.depth_change(rate, seat, change.value_si)
        results["depth_change"] = values.quantity(depth, _depth_unit(given))
        sums.append(f"Δx = A Δp/k = {values.millimetres(depth)}")
    per_m = relief.pressure_per_depth(rate, seat)
    results["pressure_per_mm"] = values.plain(per_m * 1e-8, "bar/mm")
    return sums


def _depth_unit(given: Given) -> str:
    named = next((n for n in ("preload-length", "wire", "seat") if given.has(n)), "seat")
    return given.measured(named).unit


SPRING = Calculation(
    "spring",
    "Rate of a spring, cracking pressure of a valve, depth or shim for a change",
    (
        length_field("wire", "Wire diameter.", required=False),
        length_field("outside", "Outside diameter of the coil.", required=False),
        Field("active", Kind.NUMBER, "Active coils.", False, metavar="COILS"),
        Field("total", Kind.NUMBER, "All coils.", False, metavar="COILS"),
        Field(
            "ends", Kind.WORDS, "How the ends are made.", False, "squared",
            options=tuple(spring.ENDS),
        ),
        Field(
            "shear-modulus", Kind.MODULUS, "G of the wire: 79.3 GPa, 11.5 Mpsi.", False,
            metavar="G",
        ),
        Field("material", Kind.WORDS, "Or the wire's material: music wire.", False),
        Field("rate", Kind.SPRING_RATE, "Instead of the winding: 12 N/mm.", False, metavar="RATE"),
        length_field("free-length", "Free length, to check the stress pressed solid.",
                     required=False),
        length_field("seat", "Diameter on which it seals.", required=False),
        length_field("preload-length", "How far it is compressed on its seat.", required=False),
        Field(
            "back-pressure", Kind.QUANTITY, "Pressure on the spring's side.", False, "",
            "Δbar", ("Δpsi",), metavar="PRESSURE",
        ),
        Field(
            "change", Kind.QUANTITY, "A change of cracking pressure wanted.", False, "",
            "Δbar", ("Δpsi",), metavar="PRESSURE",
        ),
    ),
    _spring,
    {
        "wire": "4 mm", "outside": "30 mm", "active": "9", "total": "11",
        "ends": "squared ground", "shear-modulus": "79.3 GPa", "seat": "6 mm",
        "preload-length": "7.5 mm", "change": "10 bar",
    },
)  # fmt: skip

CALCULATIONS = (SPRING,)
