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
_THOU_M = 0.0254e-3
_LBF_IN = 4.4482216152605 / 0.0254
_WINDING = ("wire", "outside")
_ON_A_SEAT = ("change", "cracking", "shim")


def _spring(given: Given) -> Found:
    wound = None if given.has("rate") else _wound(given)
    rate = given.si("rate") if wound is None else wound.rate_n_m
    results = {"rate": rate_value(rate)}
    sums = [f"k = {rate:.6g} N/m"]
    cautions: list[str] = []
    if wound is not None:
        sums = [_winding_sum(given, wound)]
        cautions += _solid(given, wound, results)
    if given.has("preload-length"):
        pressed = spring.force(rate, given.si("preload-length"))
        results["force"] = values.quantity(pressed, "N", "lbf")
    if given.has("seat"):
        sums += _seat(given, rate, results)
    elif any(given.has(name) for name in _ON_A_SEAT):
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
    return spring_of("spring", given)


def spring_of(form: str, given: Given) -> Spring:
    """The spring that the winding fields of a form give. Raises Incomplete."""
    active = given.si("active") if given.has("active") else None
    if active is None and not given.has("total"):
        raise one_of(form, "active", "total")
    ends = given.words("ends")
    total = given.si("total") if given.has("total") else (active or 0.0) + spring.ENDS[ends][0]
    return spring.spring(
        given.si("wire"), given.si("outside"), total, _modulus(form, given), active, ends
    )


def _modulus(form: str, given: Given) -> float:
    if given.has("shear-modulus"):
        return given.si("shear-modulus")
    if given.has("material"):
        return spring.shear_modulus(given.words("material"), given.si("wire"))
    raise one_of(form, "shear-modulus", "material")


def rate_value(rate_n_m: float) -> Value:
    return values.plain(
        rate_n_m / 1e3,
        _RATE,
        text=f"{rate_n_m / 1e3:.5g} N/mm ({rate_n_m / _LBF_IN:.5g} lbf/in)",
    )


def _winding_sum(given: Given, wound: Spring) -> str:
    wire = values.millimetres(given.si("wire"))
    return (
        f"D = outside - wire = {values.millimetres(wound.mean_diameter_m)}; k = G d⁴/(8 D³ n) = "
        f"{_modulus('spring', given) / 1e9:.5g} GPa × ({wire})⁴/(8 × "
        f"({values.millimetres(wound.mean_diameter_m)})³ × {wound.active:g}) = "
        f"{wound.rate_n_m / 1e3:.5g} N/mm"
    )


def _solid(given: Given, wound: Spring, results: dict[str, Value]) -> list[str]:
    """Solid length and what speaks against the spring, with its cautions."""
    unit = given.measured("wire").unit
    results["index"] = values.plain(wound.index)
    results["solid_length"] = values.quantity(wound.solid_length_m, unit)
    said = list(reckoned_coils(given))
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


def reckoned_coils(given: Given) -> tuple[str, ...]:
    """Said where nobody counted all the coils."""
    if given.has("total"):
        return ()
    return (f"Total coils were reckoned from the active ones with {given.words('ends')} ends.",)


def _seat(given: Given, rate: float, results: dict[str, Value]) -> list[str]:
    """Cracking pressure, the depth for another, the pressure for another depth; and their sums."""
    seat, back, sums = given.si("seat"), given.si_or("back-pressure", 0.0), []
    unit = pressure_unit(given)
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
    if given.has("cracking"):
        wanted = given.si("cracking")
        needed = relief.preload_for(wanted, rate, seat, back)
        results["preload_length"] = values.quantity(needed, _depth_unit(given))
        sums.append(f"x = A (p - back)/k = {values.millimetres(needed)} for {values.bar(wanted)}")
    if given.has("change"):
        depth = relief.depth_change(rate, seat, given.si("change"))
        results["depth_change"] = values.quantity(depth, _depth_unit(given))
        sums.append(f"Δx = A Δp/k = {values.millimetres(depth)}")
    if given.has("shim"):
        by = relief.pressure_change(rate, seat, given.si("shim"))
        results["pressure_change"] = values.difference(by, unit)
        sums.append(f"Δp = k Δx/A = {values.bar(by)}")
    per_m = relief.pressure_per_depth(rate, seat)
    thou = per_m * _THOU_M / spring.PSI_PA
    results["pressure_per_mm"] = values.plain(
        per_m * 1e-8, "bar/mm", text=f"{per_m * 1e-8:.5g} bar/mm ({thou:.4g} psi/thou)"
    )
    return sums


def pressure_unit(given: Given) -> str:
    """The unit pressures were typed in, bar where none was."""
    named = next((n for n in ("change", "cracking", "back-pressure") if given.has(n)), None)
    return given.measured(named).unit.removeprefix("Δ") if named else "bar"


def _depth_unit(given: Given) -> str:
    named = next((n for n in ("preload-length", "shim", "wire", "seat") if given.has(n)), "seat")
    return given.measured(named).unit


def _difference(name: str, help_: str) -> Field:
    return Field(name, Kind.QUANTITY, help_, False, "", "Δbar", ("Δpsi",), metavar="PRESSURE")


def winding(*, required: bool) -> tuple[Field, ...]:
    """The fields that say how a spring is wound."""
    return (
        length_field("wire", "Wire diameter.", required=required),
        length_field("outside", "Outside diameter of the coil.", required=required),
        Field("active", Kind.NUMBER, "Active coils.", False, metavar="COILS"),
        Field("total", Kind.NUMBER, "All coils.", False, metavar="COILS"),
        Field(
            "ends",
            Kind.WORDS,
            "How the ends are made.",
            False,
            "squared",
            options=tuple(spring.ENDS),
        ),
    )


def modulus_field(help_: str) -> Field:
    return Field("shear-modulus", Kind.MODULUS, help_, False, metavar="G")


SPRING = Calculation(
    "spring",
    "Rate of a spring, cracking pressure of a valve, depth or shim for a change",
    (
        *winding(required=False),
        modulus_field("G of the wire: 79.3 GPa, 11.5 Mpsi."),
        Field("material", Kind.WORDS, "Or the wire's material: music wire.", False),
        Field("rate", Kind.SPRING_RATE, "Instead of the winding: 12 N/mm.", False, metavar="RATE"),
        length_field("free-length", "Free length, to check the stress pressed solid.",
                     required=False),
        length_field("seat", "Diameter on which it seals.", required=False),
        length_field("preload-length", "How far it is compressed on its seat.", required=False),
        _difference("back-pressure", "Pressure on the spring's side."),
        _difference("change", "A change of cracking pressure wanted."),
        Field(
            "cracking", Kind.PRESSURE, "Cracking pressure wanted: how far to compress it.", False,
            metavar="PRESSURE",
        ),
        length_field("shim", "A shim or change of depth: what it does.", required=False),
    ),
    _spring,
    {
        "wire": "4 mm", "outside": "30 mm", "active": "9", "total": "11",
        "ends": "squared ground", "shear-modulus": "79.3 GPa", "seat": "6 mm",
        "preload-length": "7.5 mm", "change": "10 bar", "shim": "0.1 mm",
    },
)  # fmt: skip

CALCULATIONS = (SPRING,)
