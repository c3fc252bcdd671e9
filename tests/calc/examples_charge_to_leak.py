"""The worked examples A (gas), B (torque and preload) and F (leak), through the public functions.

A6 and the steam row of A7 check the method only: van der Waals is written here, steam comes from
CoolProp.
"""

from collections.abc import Callable
from datetime import date

from CoolProp.CoolProp import PropsSI

from shopdesk.calc import bottle, charge, fasteners, leak, leak_units, nitrogen, torque
from shopdesk.calc.leak import Reading

BAR, ATM, PSI = 1e5, charge.ATMOSPHERE_PA, charge.PSI_PA
LBF, KSI = torque.POUND_FORCE_N, 1e3 * PSI
ML_MIN = 60e6
Calc = Callable[[], float | str]
FtLb = "ft-lbf"


def c(celsius: float) -> float:
    return celsius + 273.15


def f(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


def in_(torque_nm: float, unit: str) -> float:
    return torque.from_nm(torque_nm, unit)


def a1() -> charge.SetPressure:
    return charge.set_pressure(charge.absolute(90 * BAR), c(40), c(20))


def a3(celsius: float) -> charge.SetPressure:
    return charge.set_pressure(200 * BAR, c(20), c(celsius))


def a4(fahrenheit: float) -> charge.SetPressure:
    return charge.set_pressure(charge.absolute(1500 * PSI), f(70), f(fahrenheit))


def a5() -> charge.SetPressure:
    return charge.set_pressure(100 * BAR, c(20), c(-20))


def a6_van_der_waals() -> float:
    n = 92.4 / nitrogen.MOLAR_MASS_KG_MOL
    a, b, R, V = 1.39, 0.0391, 0.0820574, 1000.0  # dm6 atm/mol2, dm3/mol, dm3 atm/(mol K), dm3
    return n * R * 500 / (V - n * b) - a * (n / V) ** 2


def a6_ideal() -> float:
    return 92.4 / nitrogen.ideal_density(ATM, 500.0)


def a7_steam() -> float:
    line_j_kg = PropsSI("H", "P", 1e6, "T", c(300), "Water")
    return float(PropsSI("T", "P", 1e6, "U", line_j_kg, "Water")) - 273.15


def a7() -> charge.Fill:
    return charge.fill(0.0, c(20), 100 * BAR, 150 * BAR, c(20))


def a8() -> charge.Fill:
    return charge.fill(ATM, c(20), 100 * BAR, 150 * BAR, c(20))


def a9() -> charge.Fill:
    return charge.fill(80 * BAR, c(20), 100 * BAR, 150 * BAR, c(20))


def a10(unit_ml: float, rig_ml: float, checks: int) -> charge.RigPressure:
    return charge.after_checks(unit_ml * 1e-6, rig_ml * 1e-6, 100 * BAR, c(20), checks)


def a11() -> bottle.Release:
    return bottle.release(10e-3, 200 * BAR, c(20), 30.0)


GAS: dict[tuple[str, str, int], Calc] = {
    ("A1", "ideal p(20 C)", 1): lambda: charge.gauge(a1().ideal_pa_abs) / BAR,
    ("A1", "real p(20 C)", 1): lambda: charge.gauge(a1().pressure_pa_abs) / BAR,
    ("A2", "gauge-only slip", 1): lambda: (
        charge.set_pressure(90 * BAR, 313.0, 293.0).ideal_pa_abs / BAR
    ),
    ("A3", "ideal 60 C", 1): lambda: a3(60).ideal_pa_abs / BAR,
    ("A3", "real 60 C", 1): lambda: a3(60).pressure_pa_abs / BAR,
    ("A3", "ideal 0 C", 1): lambda: a3(0).ideal_pa_abs / BAR,
    ("A3", "real 0 C", 1): lambda: a3(0).pressure_pa_abs / BAR,
    ("A4", "ideal 140 F", 1): lambda: charge.gauge(a4(140).ideal_pa_abs) / PSI,
    ("A4", "real 140 F", 1): lambda: charge.gauge(a4(140).pressure_pa_abs) / PSI,
    ("A4", "ideal 0 F", 1): lambda: charge.gauge(a4(0).ideal_pa_abs) / PSI,
    ("A4", "real 0 F", 1): lambda: charge.gauge(a4(0).pressure_pa_abs) / PSI,
    ("A5", "ideal loss", 1): lambda: 100 * (1 - a5().ideal_pa_abs / (100 * BAR)),
    ("A5", "real loss at 100 bar", 1): lambda: 100 * (1 - a5().pressure_pa_abs / (100 * BAR)),
    ("A6", "van der Waals", 1): a6_van_der_waals,
    ("A6", "ideal", 1): a6_ideal,
    ("A6", "CoolProp", 1): lambda: nitrogen.pressure(92.4, 500.0) / ATM,
    ("A7", "steam check 1 MPa 300 C", 1): a7_steam,
    ("A7", "N2 ideal", 1): lambda: a7().filled_ideal_k,
    ("A7", "N2 real, 150 bar line to 100 bar", 1): lambda: a7().filled_k,
    ("A8", "ideal T2", 1): lambda: a8().filled_ideal_k,
    ("A8", "ideal settled", 1): lambda: a8().settled_ideal_pa_abs / BAR,
    ("A8", "real T2", 1): lambda: a8().filled_k,
    ("A8", "real settled", 1): lambda: a8().settled_pa_abs / BAR,
    ("A9", "ideal settled", 1): lambda: a9().settled_ideal_pa_abs / BAR,
    ("A9", "real settled", 1): lambda: a9().settled_pa_abs / BAR,
    ("A10", "500 ml, 15 ml, 1 check ideal", 1): lambda: a10(500, 15, 1).ideal_pa_abs / BAR,
    ("A10", "same real", 1): lambda: a10(500, 15, 1).pressure_pa_abs / BAR,
    ("A10", "3 checks ideal", 1): lambda: a10(500, 15, 3).ideal_pa_abs / BAR,
    ("A10", "3 checks real", 1): lambda: a10(500, 15, 3).pressure_pa_abs / BAR,
    ("A10", "20 ml, 5 ml, 1 check ideal", 1): lambda: a10(20, 5, 1).ideal_pa_abs / BAR,
    ("A10", "same real", 2): lambda: a10(20, 5, 1).pressure_pa_abs / BAR,
    ("A11", "mass", 1): lambda: a11().mass_kg,
    ("A11", "free gas", 1): lambda: a11().free_gas_m3,
    ("A11", "O2 mixed", 1): lambda: a11().oxygen_mixed_pct,
    ("A11", "O2 displaced", 1): lambda: a11().oxygen_displaced_pct,
}


def set_ft_lb(target: float, length_in: float, adapter_in: float, angle: float = 0.0) -> float:
    """In ft-lbf or any torque unit: only the ratio of the lengths counts."""
    return torque.adapter_setting(target, length_in * 0.0254, adapter_in * 0.0254, angle)


def bolt(name: str, grade: str, k: float = 0.20) -> fasteners.Preload:
    return fasteners.preload(name, grade, 0.75, k)


def area(name: str) -> float:
    return fasteners.stress_area(fasteners.thread(name)).formula_m2


def due(calibrated: str, cycles_per_month: float) -> str:
    return torque.recalibration_due(date.fromisoformat(calibrated), cycles_per_month).isoformat()


TORQUE: dict[tuple[str, str, int], Calc] = {
    ("B1", "longer", 1): lambda: set_ft_lb(135, 10, 1.5),
    ("B1", "shorter", 1): lambda: set_ft_lb(135, 10, 1.5, 180),
    ("B2", "TA", 1): lambda: torque.applied_torque(60, 0.3048, 0.0508),
    ("B3", "L 12", 1): lambda: set_ft_lb(20, 12, 3),
    ("B3", "L 14", 1): lambda: set_ft_lb(20, 14, 3),
    ("B4", "0 deg", 1): lambda: torque.adapter_setting(50, 0.300, 0.060, 0),
    ("B4", "45 deg", 1): lambda: torque.adapter_setting(50, 0.300, 0.060, 45),
    ("B4", "90 deg", 1): lambda: torque.adapter_setting(50, 0.300, 0.060, 90),
    ("B4", "180 deg", 1): lambda: torque.adapter_setting(50, 0.300, 0.060, 180),
    ("B5", "1 in-lbf", 1): lambda: torque.to_nm(1, "in-lbf"),
    ("B5", "1 ft-lbf", 1): lambda: torque.to_nm(1, "ft-lbf"),
    ("B5", "1 ozf-in", 1): lambda: torque.to_nm(1, "ozf in"),
    ("B5", "1 kgf-cm", 1): lambda: torque.to_nm(1, "kgf cm"),
    ("B5", "1 psi", 1): lambda: charge.PSI_PA,
    ("B5", "1 bar", 1): lambda: charge.BAR_PA / charge.PSI_PA,
    ("B5", "1 ft-lbf", 2): lambda: torque.convert(1, "ft-lbf", "in-lbf"),
    ("B5", "1 in2", 1): lambda: fasteners.IN2_M2 / fasteners.MM2_M2,
    ("B6", "grade 5 F", 1): lambda: bolt("1/2-13", "5").preload_n / LBF,
    ("B6", "grade 5 T", 1): lambda: in_(bolt("1/2-13", "5").torque_nm, FtLb),
    ("B6", "grade 5 T, K 0.15", 1): lambda: in_(bolt("1/2-13", "5", 0.15).torque_nm, FtLb),
    ("B6", "grade 8 F", 1): lambda: bolt("1/2-13", "8").preload_n / LBF,
    ("B6", "grade 8 T", 1): lambda: in_(bolt("1/2-13", "8").torque_nm, FtLb),
    ("B6", "A574 T", 1): lambda: in_(bolt("1/2-13", "A574").torque_nm, FtLb),
    ("B7", "1/4-20 gr 5", 1): lambda: in_(bolt("1/4-20", "5").torque_nm, "in-lbf"),
    ("B7", "1/4-20 gr 8 F", 1): lambda: bolt("1/4-20", "8").preload_n / LBF,
    ("B7", "3/8-16 gr 5", 1): lambda: in_(bolt("3/8-16", "5").torque_nm, FtLb),
    ("B7", "3/8-16 gr 8", 1): lambda: in_(bolt("3/8-16", "8").torque_nm, FtLb),
    ("B7", "3/8-16 gr 2 F", 1): lambda: bolt("3/8-16", "2").preload_n / LBF,
    ("B8", "M8 F", 1): lambda: bolt("M8", "8.8").preload_n / 1e3,
    ("B8", "M8 T", 1): lambda: bolt("M8", "8.8").torque_nm,
    ("B8", "M10 T", 1): lambda: bolt("M10", "10.9").torque_nm,
    ("B8", "M12 T", 1): lambda: bolt("M12", "12.9").torque_nm,
    ("B9", "T", 1): lambda: in_(
        fasteners.tightening_torque(25e3 * LBF, fasteners.thread("3/4-16").diameter_m, 0.2),
        "in-lbf",
    ),
    ("B9", "bolt stress", 1): lambda: 25e3 * LBF / area("3/4-16") / KSI,
    ("B10", "1/4-20", 1): lambda: area("1/4-20") / fasteners.IN2_M2,
    ("B10", "1/2-13", 1): lambda: area("1/2-13") / fasteners.IN2_M2,
    ("B10", "M8", 1): lambda: area("M8") / fasteners.MM2_M2,
    ("B10", "M10", 1): lambda: area("M10") / fasteners.MM2_M2,
    ("B11", "lowest usable", 1): lambda: torque.usable_range(100).low_nm,
    ("B11", "test points", 1): lambda: ", ".join(f"{p:g}" for p in torque.check_points(100)),
    ("B11", "limit at 60 N m (4 %)", 1): lambda: torque.permitted_deviation(60, 100),
    ("B11", "limit at 8 N m on a 10 N m tool (6 %)", 1): lambda: torque.permitted_deviation(8, 10),
    ("B11", "due: calibrated 2025-03-14, 1000 cycles/month", 1): lambda: due("2025-03-14", 1000),
    ("B11", "due: calibrated 2024-02-29, 50 cycles/month", 1): lambda: due("2024-02-29", 50),
}


def f2(first_c: float, second_c: float) -> leak.Leak:
    readings = [
        Reading(100.0 * BAR, c(first_c), 0.0),
        Reading(99.2 * BAR, c(second_c), 24 * 3600.0),
    ]
    return leak.leak(120e-6, readings, gauge_resolution_pa=1e4, thermometer_resolution_k=0.1)


LEAK: dict[tuple[str, str, int], Calc] = {
    ("F1", "n", 1): lambda: leak_units.molar_rise_ideal(
        2e-3, Reading(25.3e3, 293.15, 0.0), Reading(50.6e3, 293.15, 70.0)
    ),
    ("F2", "uncorrected", 1): lambda: f2(20, 20).rate_ideal_m3_s * ML_MIN,
    ("F2", "temperature corrected", 1): lambda: f2(21, 20).rate_ideal_m3_s * ML_MIN,
    ("F2", "real gas", 1): lambda: f2(21, 20).rate_m3_s * ML_MIN,
    ("F3", "1 Pa m3/s", 1): lambda: leak_units.convert_leak(1, "Pa m3/s", "atm cm3/s"),
    ("F3", "1 atm cc/s", 1): lambda: leak_units.convert_leak(1, "atm cm3/s", "Pa m3/s"),
    ("F3", "20 C / 0 C volume ratio", 1): lambda: leak_units.convert_leak(
        1, "sccm", "sccm", unit_reference_k=c(0), to_reference_k=c(20)
    ),
}

CALCULATIONS = GAS | TORQUE | LEAK
