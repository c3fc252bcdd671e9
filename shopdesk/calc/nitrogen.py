"""Nitrogen by its reference equation of state, for 230 to 600 K and 0 to 700 bar absolute.

Source: R. Span, E. W. Lemmon, R. T. Jacobsen, W. Wagner, A. Yokozeki, "A Reference Equation of
State for the Thermodynamic Properties of Nitrogen for Temperatures from 63.151 to 1000 K and
Pressures to 2200 MPa", J. Phys. Chem. Ref. Data 29 (2000) 1361-1433. The equation is a Helmholtz
energy a/RT = ideal(δ, τ) + residual(δ, τ), δ = ρ/ρc, τ = Tc/T; everything else is a derivative.
Its density uncertainty is 0.02 % from 240 to 523 K below 30 MPa (stated by NIST).
"""

import math
from functools import lru_cache

from shopdesk.calc._numeric import absolute_pressure, finite, kelvin, not_below_zero, root
from shopdesk.errors import OutOfRange

R_J_MOL_K = 8.31451
"""The gas constant the equation was fitted with, not today's exact value."""
MOLAR_MASS_KG_MOL = 0.02801348
CRITICAL_K = 126.192
CRITICAL_KG_M3 = 313.3
LOWEST_K, HIGHEST_K = 230.0, 600.0
HIGHEST_PA_ABS = 700e5

_R = R_J_MOL_K / MOLAR_MASS_KG_MOL
_EDGE = 1e-9
_CONVERGED = 1e-8
"""Of the last step; Newton squares it, so what is left is rounding."""

# n, d, t, l: n δ^d τ^t exp(-δ^l), no exponential where l is 0 (terms 1 to 32)
_TERMS = (
    (0.924803575275, 1, 0.25, 0),
    (-0.492448489428, 1, 0.875, 0),
    (0.661883336938, 2, 0.5, 0),
    (-1.92902649201, 2, 0.875, 0),
    (-0.0622469309629, 3, 0.375, 0),
    (0.349943957581, 3, 0.75, 0),
    (0.564857472498, 1, 0.5, 1),
    (-1.61720005987, 1, 0.75, 1),
    (-0.481395031883, 1, 2.0, 1),
    (0.421150636384, 3, 1.25, 1),
    (-0.0161962230825, 3, 3.5, 1),
    (0.172100994165, 4, 1.0, 1),
    (0.00735448924933, 6, 0.5, 1),
    (0.0168077305479, 6, 3.0, 1),
    (-0.00107626664179, 7, 0.0, 1),
    (-0.0137318088513, 7, 2.75, 1),
    (0.000635466899859, 8, 0.75, 1),
    (0.00304432279419, 8, 2.5, 1),
    (-0.0435762336045, 1, 4.0, 2),
    (-0.0723174889316, 2, 6.0, 2),
    (0.0389644315272, 3, 6.0, 2),
    (-0.021220136391, 4, 3.0, 2),
    (0.00408822981509, 5, 3.0, 2),
    (-0.0000551990017984, 8, 6.0, 2),
    (-0.0462016716479, 4, 16.0, 3),
    (-0.00300311716011, 5, 11.0, 3),
    (0.0368825891208, 5, 15.0, 3),
    (-0.0025585684622, 8, 12.0, 3),
    (0.00896915264558, 3, 12.0, 4),
    (-0.0044151337035, 5, 7.0, 4),
    (0.00133722924858, 6, 4.0, 4),
    (0.000264832491957, 9, 16.0, 4),
)
# n, d, t, η, β, γ: n δ^d τ^t exp(-η(δ-1)² - β(τ-γ)²) (terms 33 to 36)
_BELLS = (
    (19.6688194015, 1, 0.0, 20.0, 325.0, 1.16),
    (-20.911560073, 1, 1.0, 20.0, 325.0, 1.16),
    (0.0167788306989, 3, 2.0, 15.0, 300.0, 1.13),
    (2627.67566274, 2, 3.0, 25.0, 275.0, 1.25),
)
# Below τ = 0.75 (T above 168 K) the bells are less than 1e-18 of anything they are added to.
_BELLS_FROM_TAU = 0.75
# ideal part: ln δ + 2.5 ln τ + a2 + a3 τ + a4/τ + a5/τ² + a6/τ³ + a7 ln(1 - exp(-a8 τ))
_A3, _A4, _A5, _A6 = -0.00784163, -1.934819e-4, -1.247742e-5, 6.678326e-8
_A7, _A8 = 1.012941, 26.65788

_Groups = tuple[tuple[int, tuple[tuple[int, float], ...]], ...]


def _grouped(terms: tuple[tuple[float, int, float, int], ...]) -> _Groups:
    sums: dict[int, dict[int, float]] = {}
    for value, d, _, power in terms:
        group = sums.setdefault(power, {})
        group[d] = group.get(d, 0.0) + value
    return tuple((power, tuple(group.items())) for power, group in sums.items())


@lru_cache(maxsize=256)
def _at_temperature(tau: float) -> _Groups:
    """Σ n τ^t for each l and d, so that the density loop has 22 terms, not 32."""
    return _grouped(tuple((n * tau**t, d, t, power) for n, d, t, power in _TERMS))


@lru_cache(maxsize=256)
def _slope_at_temperature(tau: float) -> _Groups:
    """Σ n t τ^t for each l and d."""
    return _grouped(tuple((n * t * tau**t, d, t, power) for n, d, t, power in _TERMS))


def _bells(delta: float, tau: float) -> tuple[float, float, float]:
    first = second = by_tau = 0.0
    for n, d, t, eta, beta, gamma in _BELLS:
        bell = math.exp(-eta * (delta - 1.0) ** 2 - beta * (tau - gamma) ** 2)
        term = n * delta**d * tau**t * bell
        k = d - 2.0 * eta * delta * (delta - 1.0)
        first += term * k
        second += term * (k * k - d - 2.0 * eta * delta * delta)
        by_tau += term * (t - 2.0 * beta * tau * (tau - gamma))
    return first, second, by_tau


def _residual(delta: float, tau: float) -> tuple[float, float]:
    """δ∂φ/∂δ and δ²∂²φ/∂δ² of the residual part φ."""
    first = second = 0.0
    for power, terms in _at_temperature(tau):
        x = delta**power if power else 0.0
        sum_first = sum_second = 0.0
        bend = power * power * x
        for d, value in terms:
            term = value * delta**d
            k = d - power * x
            sum_first += term * k
            sum_second += term * (k * (k - 1.0) - bend)
        decay = math.exp(-x) if power else 1.0
        first += sum_first * decay
        second += sum_second * decay
    if tau > _BELLS_FROM_TAU:
        bell_first, bell_second, _ = _bells(delta, tau)
        return first + bell_first, second + bell_second
    return first, second


def _residual_by_tau(delta: float, tau: float) -> float:
    """τ∂φ/∂τ of the residual part φ."""
    total = 0.0
    for power, terms in _slope_at_temperature(tau):
        decay = math.exp(-(delta**power)) if power else 1.0
        total += decay * sum(slope * delta**d for d, slope in terms)
    return total + (_bells(delta, tau)[2] if tau > _BELLS_FROM_TAU else 0.0)


def _ideal_by_tau(tau: float) -> float:
    """τ∂/∂τ of the ideal part."""
    return (
        2.5
        + _A3 * tau
        - _A4 / tau
        - 2.0 * _A5 / tau**2
        - 3.0 * _A6 / tau**3
        + _A7 * _A8 * tau / math.expm1(_A8 * tau)
    )


def equation_pressure_pa_abs(density_kg_m3: float, temperature_k: float) -> float:
    """p = ρRT(1 + δ∂φ/∂δ) without a range check: the bare equation, 63.151 to 1000 K.

    For checks against the paper's own table; ``pressure`` is the one for the bench.
    """
    first, _ = _residual(density_kg_m3 / CRITICAL_KG_M3, CRITICAL_K / temperature_k)
    return density_kg_m3 * _R * temperature_k * (1.0 + first)


def pressure(density_kg_m3: float, temperature_k: float) -> float:
    """Pressure [Pa abs] of nitrogen at a density and temperature: p = ρRT(1 + δ∂φ/∂δ).

    OutOfRange outside 230-600 K or where the result is above 700 bar. Source: module's own.
    """
    _in_temperature_range(temperature_k)
    not_below_zero(density_kg_m3, "Density in kg/m³")
    result = equation_pressure_pa_abs(density_kg_m3, temperature_k)
    if density_kg_m3 > 4.0 * CRITICAL_KG_M3 or result > HIGHEST_PA_ABS * (1.0 + _EDGE):
        raise OutOfRange(
            f"Nitrogen at {density_kg_m3:.6g} kg/m³ and {_celsius(temperature_k)} is above 700 bar "
            "absolute; the equation is used here from 0 to 700 bar absolute."
        )
    return result


def density(pressure_pa_abs: float, temperature_k: float) -> float:
    """Density [kg/m³] of nitrogen, by Newton's method on ``pressure``; zero at zero pressure.

    OutOfRange outside 230-600 K or 0-700 bar absolute. Source: module's own.
    """
    _in_range(pressure_pa_abs, temperature_k)
    tau = CRITICAL_K / temperature_k
    reduced = pressure_pa_abs / (CRITICAL_KG_M3 * _R * temperature_k)
    delta = reduced / (1.0 + 0.25 * reduced)  # above the root or near it: p(δ) bends upward
    for _ in range(60):
        first, second = _residual(delta, tau)
        step = (delta * (1.0 + first) - reduced) / (1.0 + 2.0 * first + second)
        delta = max(delta - step, 0.5 * delta)
        if abs(step) <= _CONVERGED * delta:
            break
    return delta * CRITICAL_KG_M3


def compressibility(pressure_pa_abs: float, temperature_k: float) -> float:
    """Z = p/(ρRT), 1 at zero pressure. OutOfRange as ``density``. Source: module's own."""
    if pressure_pa_abs == 0.0:
        _in_range(pressure_pa_abs, temperature_k)
        return 1.0
    return pressure_pa_abs / (density(pressure_pa_abs, temperature_k) * _R * temperature_k)


def internal_energy(density_kg_m3: float, temperature_k: float) -> float:
    """u = RT τ(∂ideal/∂τ + ∂φ/∂τ) [J/kg], on the paper's zero (h = 8670 J/mol at 298.15 K, ideal).

    Only differences have a meaning at the bench. OutOfRange as ``pressure``. Source: module's own.
    """
    pressure(density_kg_m3, temperature_k)
    return _internal_energy(density_kg_m3, temperature_k)


def _internal_energy(density_kg_m3: float, temperature_k: float) -> float:
    tau = CRITICAL_K / temperature_k
    by_tau = _ideal_by_tau(tau) + _residual_by_tau(density_kg_m3 / CRITICAL_KG_M3, tau)
    return _R * temperature_k * by_tau


def enthalpy(density_kg_m3: float, temperature_k: float) -> float:
    """h = u + p/ρ [J/kg], u + RT at zero density. Errors as ``pressure``. Source: module's own."""
    pressure_pa_abs = pressure(density_kg_m3, temperature_k)
    flow_work = pressure_pa_abs / density_kg_m3 if density_kg_m3 else _R * temperature_k
    return _internal_energy(density_kg_m3, temperature_k) + flow_work


def temperature(density_kg_m3: float, internal_energy_j_kg: float) -> float:
    """Temperature [K] at which nitrogen of this density has this internal energy.

    OutOfRange where no temperature from 230 to 600 K does, or above 700 bar. Source: module's own.
    """
    not_below_zero(density_kg_m3, "Density in kg/m³")
    finite(internal_energy_j_kg, "Internal energy in J/kg")

    def excess(temperature_k: float) -> float:
        return _internal_energy(density_kg_m3, temperature_k) - internal_energy_j_kg

    try:
        found = root(excess, LOWEST_K, HIGHEST_K, 1e-9)
    except ArithmeticError:
        raise OutOfRange(
            f"No temperature from -43.15 to 326.85 °C gives nitrogen of {density_kg_m3:.6g} kg/m³ "
            f"an internal energy of {internal_energy_j_kg:.6g} J/kg."
        ) from None
    pressure(density_kg_m3, found)
    return found


def ideal_density(pressure_pa_abs: float, temperature_k: float) -> float:
    """Ideal gas ρ = p/(RT) [kg/m³], beside the real one. OutOfRange below absolute zero."""
    absolute_pressure(pressure_pa_abs)
    return pressure_pa_abs / (_R * kelvin(temperature_k))


def _celsius(temperature_k: float) -> str:
    return f"{temperature_k - 273.15:.4g} °C"


def _in_temperature_range(temperature_k: float) -> None:
    kelvin(temperature_k, "Gas temperature")
    if not LOWEST_K - _EDGE <= temperature_k <= HIGHEST_K + _EDGE:
        raise OutOfRange(
            f"Gas temperature was read as {_celsius(temperature_k)}; the nitrogen equation is used "
            "here from -43.15 to 326.85 °C (230 to 600 K)."
        )


def _in_range(pressure_pa_abs: float, temperature_k: float) -> None:
    _in_temperature_range(temperature_k)
    absolute_pressure(pressure_pa_abs, "Gas pressure")
    if pressure_pa_abs > HIGHEST_PA_ABS * (1.0 + _EDGE):
        raise OutOfRange(
            f"Gas pressure was read as {pressure_pa_abs / 1e5:.6g} bar absolute; the nitrogen "
            "equation is used here from 0 to 700 bar absolute."
        )
