"""The shear stress in a spring's wire, at work and pressed solid, against what the wire stands."""

from shopdesk.calc import spring
from shopdesk.calc.spring import Spring
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value, one_of
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.springs import (
    modulus_field,
    rate_value,
    reckoned_coils,
    spring_of,
    winding,
)
from shopdesk.desk.calculator.torque import length_field
from shopdesk.errors import BadInput

_NAME = "spring-stress"
_KSI_PA = 1e3 * spring.PSI_PA


def _stress(given: Given) -> Found:
    of = spring_of(_NAME, given)
    wire, material = given.si("wire"), given.words("material")
    allowed = spring.allowed_stress(material, wire)
    results: dict[str, Value] = {}
    sums = [
        f"D = outside - wire = {values.millimetres(of.mean_diameter_m)}, C = D/d = {of.index:.5g}, "
        f"K = (4C - 1)/(4C - 4) + 0.615/C = {spring.wahl_factor(of.index):.5g}"
    ]
    cautions = [*reckoned_coils(given), *_index(of)]
    worked = _worked(given, of, allowed, results)
    pressed = _pressed(given, of, allowed, results)
    if not worked and not pressed:
        raise one_of(_NAME, "load", "worked-to", "free-length")
    results |= {
        "allowed_stress": _shown(allowed),
        "solid_length": values.quantity(of.solid_length_m, given.measured("wire").unit),
        "rate": rate_value(of.rate_n_m),
        "index": values.plain(of.index),
        "wahl_factor": values.plain(spring.wahl_factor(of.index)),
    }
    return Found(
        results,
        "; ".join([*sums, *worked, *pressed]),
        "K 8 F D/(π d³), Wahl; Shigley, chapter 10; strength and allowed share of "
        f"{material}: {spring.sources(material, wire)}",
        (
            *cautions,
            *_sets(results),
            "For a spring at rest or seldom moved. One that works without end breaks at less, and "
            "rust or a nick in the wire at far less: look at the coils.",
        ),
    )


def _worked(given: Given, of: Spring, allowed: float, results: dict[str, Value]) -> list[str]:
    """Force and stress at the load or depth it is worked to, and the sum."""
    if given.has("load", "worked-to"):
        raise BadInput("Both load and worked-to were given; one follows from the other.")
    if given.has("load"):
        force, depth = given.si("load"), given.si("load") / of.rate_n_m
    elif given.has("worked-to"):
        depth = given.si("worked-to")
        force = spring.force(of.rate_n_m, depth)
    else:
        return []
    unit = given.measured("worked-to" if given.has("worked-to") else "wire").unit
    found = spring.stress(force, given.si("wire"), given.si("outside"))
    results["stress"] = _shown(found)
    results["stress_share"] = values.percent(found / allowed, 1)
    results["force"] = values.quantity(force, "N", "lbf")
    results["compressed"] = values.quantity(depth, unit)
    if given.has("free-length"):
        free = given.si("free-length")
        spring.force_at_length(of, free, free - depth)
        results["length"] = values.quantity(free - depth, unit)
    return [f"at {force:.5g} N: {found / 1e6:.5g} MPa of {allowed / 1e6:.5g} MPa"]


def _pressed(given: Given, of: Spring, allowed: float, results: dict[str, Value]) -> list[str]:
    """Force and stress with the coils touching, and the sum."""
    if not given.has("free-length"):
        return []
    free = given.si("free-length")
    check = spring.solid_check(
        of, given.si("wire"), given.si("outside"), free, given.words("material")
    )
    force = spring.force_at_length(of, free, of.solid_length_m)
    results["solid_stress"] = _shown(check.stress_pa)
    results["solid_stress_share"] = values.percent(check.share_of_allowed, 1)
    results["solid_force"] = values.quantity(force, "N", "lbf")
    return [
        f"solid at {values.millimetres(of.solid_length_m)}: {force:.5g} N, "
        f"{check.stress_pa / 1e6:.5g} MPa of {allowed / 1e6:.5g} MPa"
    ]


def _sets(results: dict[str, Value]) -> list[str]:
    """What is said where a stress is above the allowed one."""
    said = []
    if "stress_share" in results and float(results["stress_share"].value) > 100.0:
        said.append("Worked so far it takes a set: it comes back shorter and weaker.")
    if "solid_stress_share" in results and float(results["solid_stress_share"].value) > 100.0:
        said.append("Pressed solid it will take a set: hold it above its solid length.")
    return said


def _index(of: Spring) -> list[str]:
    if spring.INDEX_LOW <= of.index <= spring.INDEX_HIGH:
        return []
    return [f"Spring index {of.index:.3g} is outside the usual 4 to 12."]


def _shown(stress_pa: float) -> Value:
    mega = stress_pa / 1e6
    return values.plain(mega, "MPa", text=f"{mega:.4g} MPa ({stress_pa / _KSI_PA:.4g} ksi)")


SPRING_STRESS = Calculation(
    _NAME,
    "Stress in a spring's wire at work and pressed solid, against what it stands",
    (
        *winding(required=True),
        Field("material", Kind.WORDS, f"{', '.join(spring.materials(strength=True))}."),
        modulus_field("G, where the table's for the material is not to be used."),
        Field(
            "load", Kind.QUANTITY, "The force it works against.", False, "", "N", ("lbf",),
            metavar="FORCE",
        ),
        length_field("worked-to", "Or how far it is compressed at work.", required=False),
        length_field("free-length", "Free length, for the stress pressed solid.", required=False),
    ),
    _stress,
    {
        "wire": "0.105 in", "outside": "1.225 in", "total": "12", "ends": "plain ground",
        "material": "music wire", "load": "30 lbf", "free-length": "5 in",
    },
)  # fmt: skip

CALCULATIONS = (SPRING_STRESS,)
