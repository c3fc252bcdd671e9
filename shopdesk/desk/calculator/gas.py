"""The nitrogen charge: set pressure, density, filling, what the rig takes."""

from shopdesk.calc import bottle, charge, nitrogen
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, one_of
from shopdesk.desk.calculator.given import SITE, Given, Pressure

SPAN = (
    "nitrogen by the reference equation of state: Span et al., J. Phys. Chem. Ref. Data 29 (2000) "
    "1361-1433"
)
ADVICE = (
    "Advice only: the unit's rated pressure and precharge limit, local codes and licensed practice "
    "stand above it. Nitrogen only."
)


def pressure_field(name: str, help_: str, *, required: bool = True, default: str = "") -> Field:
    return Field(name, Kind.PRESSURE, help_, required, default, metavar="PRESSURE")


def temperature_field(name: str, help_: str, *, required: bool = True) -> Field:
    return Field(
        name, Kind.QUANTITY, help_, required, unit="°C", units=("°F",), metavar="TEMPERATURE"
    )


def volume_field(name: str, help_: str, *, required: bool = True) -> Field:
    return Field(
        name, Kind.QUANTITY, help_, required, unit="L", units=("mL", "in³"), metavar="VOLUME"
    )


def basis(*pressures: Pressure) -> tuple[str, ...]:
    """Said where a unit leaves open what it is counted from."""
    plain = [each for each in pressures if values.reference(each.unit)]
    if not plain:
        return ()
    units = " and ".join(dict.fromkeys(each.unit for each in plain))
    return (
        f"{units} without more is gauge here, counted from an atmosphere of "
        f"{plain[0].atmosphere_pa / 100:.6g} mbar.",
    )


def _charge(given: Given) -> Found:
    target, at_k, gas_k = given.pressure("target"), given.si("at"), given.si("gas")
    found = charge.set_pressure(target.pa_abs, at_k, gas_k)
    return Found(
        {
            "set_pressure": target.like(found.pressure_pa_abs),
            "set_pressure_ideal": target.like(found.ideal_pa_abs),
        },
        f"ρ({values.bar(target.pa_abs)} abs, {values.celsius(at_k)}) = "
        f"{found.density_kg_m3:.5g} kg/m³; p(ρ, {values.celsius(gas_k)}) = "
        f"{values.bar(found.pressure_pa_abs)} abs; ideal gas: {values.bar(target.pa_abs)} × "
        f"{gas_k:.6g} K/{at_k:.6g} K = {values.bar(found.ideal_pa_abs)} abs",
        f"constant mass in a rigid volume; {SPAN}",
        (ADVICE, *basis(target)),
    )


CHARGE = Calculation(
    "charge",
    "Pressure to set at the gas's temperature, for a charge stated at another",
    (
        pressure_field("target", "The charge wanted."),
        temperature_field("at", "The temperature it is stated at."),
        temperature_field("gas", "The gas's temperature now."),
        Field(
            "tolerance",
            Kind.QUANTITY,
            "How far from the target it may be; drawn as a band.",
            False,
            unit="Δbar",
            units=("Δpsi",),
            metavar="PRESSURE",
        ),
        *SITE,
    ),
    _charge,
    {"target": "90 bar", "at": "40 C", "gas": "20 C", "tolerance": "2 bar"},
)


def _reference(given: Given) -> Found:
    reading, gas_k, at_k = given.pressure("pressure"), given.si("gas"), given.si("at")
    found = charge.at_reference(reading.pa_abs, gas_k, at_k)
    return Found(
        {
            "pressure_at": reading.like(found.pressure_pa_abs),
            "pressure_at_ideal": reading.like(found.ideal_pa_abs),
        },
        f"ρ({values.bar(reading.pa_abs)} abs, {values.celsius(gas_k)}) = "
        f"{found.density_kg_m3:.5g} kg/m³; p(ρ, {values.celsius(at_k)}) = "
        f"{values.bar(found.pressure_pa_abs)} abs; ideal gas: {values.bar(found.ideal_pa_abs)} abs",
        f"constant mass in a rigid volume; {SPAN}",
        basis(reading),
    )


REFERENCE = Calculation(
    "reference",
    "What a reading taken at one temperature means at another",
    (
        pressure_field("pressure", "The reading."),
        temperature_field("gas", "The gas's temperature when it was taken."),
        temperature_field("at", "The temperature it is wanted for."),
        *SITE,
    ),
    _reference,
    {"pressure": "83.1 bar", "gas": "20 C", "at": "40 C"},
)


def _density(given: Given) -> Found:
    pressure, gas_k = given.pressure("pressure"), given.si("temperature")
    density = nitrogen.density(pressure.pa_abs, gas_k)
    factor = nitrogen.compressibility(pressure.pa_abs, gas_k)
    results = {
        "density": values.plain(density, "kg/m³", 6),
        "compressibility": values.plain(factor, figures=6),
    }
    said = (
        f"ρ({values.bar(pressure.pa_abs)} abs, {values.celsius(gas_k)}) = {density:.6g} kg/m³; "
        f"Z = p/(ρ R T) = {factor:.6g}"
    )
    if given.has("volume"):
        mass = bottle.mass(given.si("volume"), pressure.pa_abs, gas_k)
        results["mass"] = values.plain(mass, "kg")
        said += f"; m = ρ V = {mass:.5g} kg"
    return Found(results, said, SPAN, basis(pressure))


DENSITY = Calculation(
    "density",
    "Density, compressibility and mass of nitrogen",
    (
        pressure_field("pressure", "The gas's pressure."),
        temperature_field("temperature", "Its temperature."),
        volume_field("volume", "Its volume, for the mass.", required=False),
        *SITE,
    ),
    _density,
    {"pressure": "200 bar", "temperature": "20 C", "volume": "10 L"},
)


def _fill(given: Given) -> Found:
    start, to, supply = (given.pressure(name) for name in ("start", "to", "supply"))
    at_k, supply_k = given.si("at"), given.si("supply-at")
    found = charge.fill(start.pa_abs, at_k, to.pa_abs, supply.pa_abs, supply_k)
    unit = given.measured("at").unit
    return Found(
        {
            "filled_temperature": values.quantity(found.filled_k, unit),
            "settled_pressure": to.like(found.settled_pa_abs),
            "filled_temperature_ideal": values.quantity(found.filled_ideal_k, unit),
            "settled_pressure_ideal": to.like(found.settled_ideal_pa_abs),
        },
        f"m2 u2 - m1 u1 = (m2 - m1) h(supply) at {values.bar(to.pa_abs)} abs gives "
        f"{found.filled_k:.5g} K; cooled to {values.celsius(at_k)} at the same density "
        f"{values.bar(found.settled_pa_abs)} abs",
        f"energy balance of uniform-flow filling, any engineering thermodynamics text; {SPAN}",
        (
            "The hottest case: no heat to the walls. A slow fill stays cooler and settles higher.",
            ADVICE,
            *basis(start, to, supply),
        ),
    )


FILL = Calculation(
    "fill",
    "How hot the gas gets when filled fast, and where it settles",
    (
        pressure_field("start", "What the unit holds before."),
        temperature_field("at", "The unit's temperature before, and after it has settled."),
        pressure_field("to", "What the gauge shows when the valve is closed."),
        pressure_field("supply", "The bottle's pressure."),
        temperature_field("supply-at", "The bottle's temperature."),
        *SITE,
    ),
    _fill,
    {"start": "0 bar", "at": "20 C", "to": "100 bar", "supply": "150 bar", "supply-at": "20 C"},
)


def _rig_loss(given: Given) -> Found:
    if not (given.has("pressure") or given.has("reads")):
        raise one_of("rig-loss", "pressure", "reads")
    volume, rig, at_k = given.si("volume"), given.si("rig"), given.si("at")
    checks, air = given.count("checks"), given.atmosphere_pa
    results, said, seen = {}, [], []
    if given.has("pressure"):
        held = given.pressure("pressure")
        after = charge.after_checks(volume, rig, held.pa_abs, at_k, checks, air)
        results["pressure_after"] = held.like(after.pressure_pa_abs)
        results["pressure_after_ideal"] = held.like(after.ideal_pa_abs)
        said.append(f"after: {values.bar(after.pressure_pa_abs)} abs")
        seen.append(held)
    if given.has("reads"):
        shown = given.pressure("reads")
        before = charge.before_checks(volume, rig, shown.pa_abs, at_k, checks, air)
        results["pressure_before"] = shown.like(before.pressure_pa_abs)
        results["pressure_before_ideal"] = shown.like(before.ideal_pa_abs)
        said.append(f"before: {values.bar(before.pressure_pa_abs)} abs")
        seen.append(shown)
    share = volume / (volume + rig)
    return Found(
        results,
        f"ρ' = (ρ V + ρ(rig) v)/(V + v), {checks} times, V/(V + v) = {share:.5g}, rig at "
        f"{values.bar(air)} abs before each; " + ", ".join(said),
        f"mass balance (common practice, no source); {SPAN}",
        ("The rig is vented between checks; both at one temperature.", *basis(*seen)),
    )


RIG_LOSS = Calculation(
    "rig-loss",
    "What an empty rig takes from the charge each time it is attached to read",
    (
        volume_field("volume", "Gas volume of the unit."),
        volume_field("rig", "Volume of the rig up to its gauge."),
        pressure_field("pressure", "The charge before the rig is attached.", required=False),
        pressure_field("reads", "Or what the gauge shows at the last check.", required=False),
        temperature_field("at", "Temperature of the gas."),
        Field("checks", Kind.COUNT, "How many times it is attached.", False, "1", metavar="N"),
        *SITE,
    ),
    _rig_loss,
    {
        "volume": "500 mL", "rig": "15 mL", "pressure": "100 bara", "at": "20 C", "checks": "3",
    },
)  # fmt: skip

_EVERY_UNIT = (
    ("bar", "barg", "bara"),
    ("psi", "psig", "psia"),
    ("mpa", "MPa(g)", "MPa(a)"),
    ("kgf_cm2", "kgf/cm²(g)", "kgf/cm²(a)"),
)


def _pressure_units(given: Given) -> Found:
    read = given.pressure("pressure")
    results = {}
    for name, gauge, absolute in _EVERY_UNIT:
        results[f"{name}_gauge"] = values.pressure(read.pa_abs, gauge, read.atmosphere_pa)
        results[f"{name}_absolute"] = values.pressure(read.pa_abs, absolute, read.atmosphere_pa)
    air = read.atmosphere_pa
    return Found(
        results,
        f"absolute = gauge + atmosphere: {values.bar(read.pa_abs - air)} + {values.bar(air)} = "
        f"{values.bar(read.pa_abs)}",
        "unit factors: NIST SP 811; atmosphere at a height: ISO 2533 (constants from memory)",
        basis(read),
    )


PRESSURE_UNITS = Calculation(
    "pressure-units",
    "A pressure in bar, psi, MPa and kgf/cm², gauge and absolute at the site",
    (pressure_field("pressure", "With its unit."), *SITE),
    _pressure_units,
    {"pressure": "1500 psi", "altitude": "1500 m"},
)

CALCULATIONS = (CHARGE, REFERENCE, DENSITY, FILL, RIG_LOSS, PRESSURE_UNITS)
