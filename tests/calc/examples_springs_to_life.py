"""The worked examples C to E and G to J, through the public functions.

E2 checks the method of Rq/Ra only.
"""

import math
from collections.abc import Callable

from shopdesk.calc import bore, cleanliness, flow, life, relief, seals, shelf, spring, stores
from shopdesk.calc.torque import INCH_M, POUND_FORCE_N

from .lives import AUTOMOTIVE_FAILED, AUTOMOTIVE_RUNNING, BEARINGS

MM, BAR, UM, IN = 1e-3, 1e5, 1e-6, INCH_M
LBF_IN = POUND_FORCE_N / INCH_M
Calc = Callable[[], float | str]
Key = tuple[str, str, int]


def c1() -> spring.Spring:
    """The book rounds 7/16 - 0.037 in to a mean diameter of 0.400, so 0.437 in outside."""
    return spring.spring(0.037 * IN, 0.437 * IN, 12.5, 11.85e6 * spring.PSI_PA)


def c2() -> spring.Spring:
    return spring.spring(4 * MM, 30 * MM, 11, 79.3e9, active=9, ends="squared ground")


def c3(back_bar: float = 0.0) -> float:
    return relief.cracking_pressure(12e3, 7.5 * MM, 6 * MM, back_bar * BAR) / BAR


def c4() -> relief.PilotOpening:
    return relief.pilot_opening(200 * BAR, 20 * MM, 10 * MM, 8.0)


SPRINGS: dict[Key, Calc] = {
    ("C1", "k", 1): lambda: c1().rate_n_m / LBF_IN,
    ("C1", "spring index", 1): lambda: c1().index,
    ("C1", "solid length (Nt+1)d", 1): lambda: c1().solid_length_m / IN,
    ("C2", "k", 1): lambda: c2().rate_n_m / 1e3,
    ("C3", "p crack", 1): c3,
    ("C3", "with 5 bar back pressure on the spring side", 1): lambda: c3(5.0),
    ("C3", "per 0.10 mm shim", 1): lambda: relief.pressure_change(12e3, 6 * MM, 0.1 * MM) / BAR,
    ("C3", "shim for +10 bar", 1): lambda: relief.depth_change(12e3, 6 * MM, 10 * BAR) / MM,
    ("C4", "ratio", 1): lambda: c4().ratio,
    ("C4", "p pilot", 1): lambda: c4().pilot_pa / BAR,
}


# Gland depth ranges [in] of the usual US radial glands. Static and dynamic gland charts of a common
# US O-ring handbook as reprinted in two open repositories; they print the squeeze beside them.
GLAND_DEPTHS_IN = {
    ("static", ".070"): (0.050, 0.052),
    ("static", ".103"): (0.081, 0.083),
    ("static", ".139"): (0.111, 0.113),
    ("static", ".210"): (0.170, 0.173),
    ("static", ".275"): (0.226, 0.229),
    ("dynamic", ".103"): (0.088, 0.090),
    ("dynamic", ".210"): (0.185, 0.188),
}
DASH_OF_SECTION = {".070": "010", ".103": "110", ".139": "210", ".210": "325", ".275": "425"}


def d1(section: str, use: str, end: str) -> float:
    ring = seals.ring(DASH_OF_SECTION[section])
    low, high = (depth * IN for depth in GLAND_DEPTHS_IN[use, section])
    found = seals.squeeze_range(ring.section_m, ring.section_tol_m, low, high)
    return 100 * (found.low if end == "min" else found.high)


def d1_calculations() -> dict[Key, Calc]:
    def calculation(section: str, use: str, end: str) -> Calc:
        return lambda: d1(section, use, end)

    return {
        ("D1", f"{section} {use} {end}", 1): calculation(section, use, end)
        for use, section in GLAND_DEPTHS_IN
        for end in ("min", "max")
    }


def d2() -> seals.Span:
    ring = seals.ring("-214")
    return seals.fill_range(
        ring.section_m, ring.section_tol_m, (0.111 * IN, 0.113 * IN), (0.187 * IN, 0.192 * IN)
    )


def d3_stretch() -> float:
    return seals.stretch(seals.ring("-214").inside_m, 1.010 * IN)


def d3_section() -> float:
    ring = seals.ring("-214")
    return seals.stretched_section(ring.inside_m, ring.section_m, 1.010 * IN)


def by(compound: str, standard: str, extended: bool = False) -> str:
    found = shelf.use_by(compound, "2Q2019", standard)
    return str(found.use_by_extended) if extended else found.as_text


SEALS: dict[Key, Calc] = d1_calculations() | {
    ("D2", "nominal", 1): lambda: 100 * seals.fill(0.139 * IN, 0.112 * IN, 0.1895 * IN),
    ("D2", "worst high", 1): lambda: 100 * d2().high,
    ("D2", "worst low", 1): lambda: 100 * d2().low,
    ("D3", "stretch", 1): lambda: 100 * d3_stretch(),
    ("D3", "(i) W'", 1): lambda: d3_section() / IN,
    ("D3", "(ii) W'", 1): lambda: 0.139 * (1 - seals.section_loss(d3_stretch())),
    ("D3", "(i) loss", 1): lambda: 100 * (1 - d3_section() / (0.139 * IN)),
    ("D3", "(iii) loss", 1): lambda: 100 * seals.handbook_section_loss(d3_stretch()),
    ("D4", "5 % curve", 1): lambda: 100 * seals.handbook_section_loss(0.05),
    ("D4", "5 % constant volume (ii)", 1): lambda: 100 * seals.section_loss(0.05),
    ("D4", "10 % curve", 1): lambda: 100 * seals.handbook_section_loss(0.10),
    ("D4", "10 % constant volume (ii)", 1): lambda: 100 * seals.section_loss(0.10),
    ("D5", "ID", 1): lambda: seals.ring("AS568-429").inside_m / IN,
    ("D5", "OD", 1): lambda: seals.ring("AS568-429").outside_m / IN,
    ("D5", "W", 1): lambda: seals.ring("AS568-429").section_m / IN,
    ("D6", "NBR, ARP5316 15 yr", 1): lambda: by("NBR", "ARP5316"),
    ("D6", "NBR, ISO 2230 7 yr", 1): lambda: by("NBR", "ISO 2230"),
    ("D6", "NBR, ISO 2230 7+3 yr", 1): lambda: by("NBR", "ISO 2230", extended=True),
    ("D6", "AU, ARP5316 5 yr", 1): lambda: by("AU", "ARP5316"),
    ("D6", "FKM, ARP5316", 1): lambda: by("FKM", "ARP5316"),
    ("D6", "FKM, ISO 2230 10 yr", 1): lambda: by("FKM", "ISO 2230"),
}

E1_MM = ((40.012, 40.018), (40.010, 40.013), (40.006, 40.008))


def e1() -> bore.Survey:
    return bore.survey([[cell * MM for cell in row] for row in E1_MM])


def e2(wave: Callable[[float], float]) -> float:
    """Rq/Ra of one period at evenly spaced midpoints, scaled to micrometres."""
    count = 4000
    return bore.profile_roughness([UM * wave((n + 0.5) / count) for n in range(count)]).ratio


def triangle(x: float) -> float:
    return 4 * abs(x - 0.5) - 1


def square(x: float) -> float:
    return 1.0 if x < 0.5 else -1.0


def e3(clearance_um: float) -> bore.FitLeak:
    return bore.fit_leak(20 * MM, clearance_um * UM, 200 * BAR, 0.03, 15 * MM)


def e3_doubled() -> str:
    return f"{e3(20).concentric_m3_s / e3(10).concentric_m3_s:.10g} times"


BORES: dict[Key, Calc] = {
    ("E1", "out-of-round top", 1): lambda: e1().out_of_round_by_row_m[0] / MM,
    ("E1", "worst out-of-round", 1): lambda: e1().out_of_round_m / MM,
    ("E1", "taper at 90 deg", 1): lambda: e1().taper_by_column_m[1] / MM,
    ("E1", "worst taper", 1): lambda: e1().taper_m / MM,
    ("E1", "max size", 1): lambda: e1().largest_m / MM,
    ("E2", "sine pi/(2 sqrt 2)", 1): lambda: bore.rq_from_ra(1.0).sine_m,
    ("E2", "sine by quadrature", 1): lambda: e2(lambda x: math.sin(2 * math.pi * x)),
    ("E2", "triangle 2/sqrt 3", 1): lambda: e2(triangle),
    ("E2", "square", 1): lambda: e2(square),
    ("E2", "16 uin Ra", 1): lambda: bore.from_microinches(16) / UM,
    ("E3", "concentric", 1): lambda: e3(10).concentric_m3_s * 60e6,
    ("E3", "eccentric", 1): lambda: e3(10).eccentric_m3_s * 60e6,
    ("E3", "clearance doubled", 1): e3_doubled,
}


def g1_edge() -> str:
    return f"{cleanliness.scale_number(1300)} and {cleanliness.scale_number(1300.1)}"


FLUID: dict[Key, Calc] = {
    ("G1", "21500 / 2100 / 68", 1): lambda: cleanliness.code((21500, 2100, 68)),
    ("G1", "1300 and 1300.1", 1): g1_edge,
    ("G1", "120 / 30 / 1.0 with fewer than 20 counted at 14 um", 1): lambda: cleanliness.code(
        (120, 30, 1.0), (None, None, 19)
    ),
    ("G1", "185000 per 100 ml", 1): lambda: cleanliness.scale_number(
        cleanliness.per_ml(185000, 100)
    ),
    ("G1", "3000000", 1): lambda: cleanliness.scale_number(3_000_000),
}


def h1() -> stores.OrderQuantity:
    return stores.order_quantity(1000, 10, 0.50)


def h2() -> float:
    return stores.order_quantity(600, 12, 0.20 * 20).quantity


def h5() -> stores.OrderPoint:
    return stores.order_point(150, 16, 5, 1, 0.95)


def h6() -> stores.CountPoint:
    return stores.tabled_order_point(dict.fromkeys(range(30, 71), 1 / 41), 0.95)


def h7(service: float) -> stores.CountPoint:
    return stores.poisson_order_point(3.2, service)


STORES: dict[Key, Calc] = {
    ("H1", "Q", 1): lambda: h1().quantity,
    ("H1", "orders", 1): lambda: h1().orders_per_year,
    ("H1", "time between orders (250 days)", 1): lambda: 250 / h1().orders_per_year,
    ("H1", "annual cost", 1): lambda: h1().annual_cost,
    ("H2", "Q", 1): lambda: stores.order_quantity(54000, 90, 3).quantity,
    ("H2", "Q2", 1): h2,
    ("H3", "R with z = 1.64", 1): lambda: stores.order_point_at(500 / 250 * 12, 20, 1.64).point,
    ("H3", "R with exact z", 1): lambda: stores.order_point_for(500 / 250 * 12, 20, 0.95).point,
    ("H4", "SS z = 1.65", 1): lambda: stores.order_point_at(350, 10, 1.65).safety_stock,
    ("H4", "SS exact", 1): lambda: stores.order_point_for(350, 10, 0.95).safety_stock,
    ("H4", "ROP", 1): lambda: stores.order_point_at(350, 10, 1.65).point,
    ("H5", "sigma", 1): lambda: h5().sigma,
    ("H5", "ROP z = 1.65", 1): lambda: stores.order_point_at(150 * 5, h5().sigma, 1.65).point,
    ("H6", "EOQ", 1): h2,
    ("H6", "ROP", 1): lambda: h6().point,
    ("H6", "SS", 1): lambda: h6().safety_stock,
    ("H6", "P(D>68)", 1): lambda: 1 - h6().service,
    ("H7", "r at 95 %", 1): lambda: h7(0.95).point,
    ("H7", "P(D<=6)", 1): lambda: stores.poisson_service(3.2, 6),
    ("H7", "r at 99 %", 1): lambda: h7(0.99).point,
    ("H7", "normal approximation 95 % (do not use)", 1): lambda: (
        stores.order_point_for(3.2, math.sqrt(3.2), 0.95).point
    ),
}

MIN, HOUR = 60.0, 3600.0


def i2() -> flow.Queue:
    return flow.mmc(2 / HOUR, 3 / HOUR)


def i3() -> flow.Queue:
    return flow.kingman(8 / HOUR, HOUR / 12, 1, 0)


def i4(repair_min: float) -> tuple[flow.Effective, flow.Queue]:
    station = flow.with_breakdowns(15 * MIN, (3.35 / 15) ** 2, 0.75, repair_min * MIN)
    return station, flow.kingman(2.875 / HOUR, station.mean_s, 1, station.cv_squared)


def i5() -> flow.Queue:
    return flow.mmc(2 / HOUR, 3 / HOUR, 2)


FLOW: dict[Key, Calc] = {
    ("I1", "flow time", 1): lambda: flow.little_flow_time(12, 3),
    ("I2", "L", 1): lambda: i2().in_system,
    ("I2", "W", 1): lambda: i2().flow_time_s / MIN,
    ("I2", "Lq", 1): lambda: i2().in_queue,
    ("I2", "Wq", 1): lambda: i2().queue_time_s / MIN,
    ("I2", "P0", 1): lambda: i2().empty_probability or math.nan,
    ("I3", "Lq", 1): lambda: i3().in_queue,
    ("I3", "Wq", 1): lambda: i3().queue_time_s / MIN,
    ("I3", "Kingman with ca2 = 1, cs2 = 0", 1): lambda: i3().queue_time_s / MIN,
    ("I4", "te", 1): lambda: i4(248)[0].mean_s / MIN,
    ("I4", "ce2 long", 1): lambda: i4(248)[0].cv_squared,
    ("I4", "ce2 short", 1): lambda: i4(38)[0].cv_squared,
    ("I4", "u", 1): lambda: i4(248)[1].utilisation,
    ("I4", "CTq long", 1): lambda: i4(248)[1].queue_time_s / HOUR,
    ("I4", "CTq short", 1): lambda: i4(38)[1].queue_time_s / HOUR,
    ("I5", "P0", 1): lambda: i5().empty_probability or math.nan,
    ("I5", "Lq", 1): lambda: i5().in_queue,
    ("I5", "Ls", 1): lambda: i5().in_system,
    ("I5", "Wq", 1): lambda: i5().queue_time_s / MIN,
}


def j1() -> life.Weibull:
    return life.weibull_fit(BEARINGS)


def j2() -> life.Weibull:
    return life.weibull_fit(AUTOMOTIVE_FAILED, AUTOMOTIVE_RUNNING)


LIFE: dict[Key, Calc] = {
    ("J1", "shape", 1): lambda: j1().shape,
    ("J1", "scale", 1): lambda: j1().scale,
    ("J1", "B10", 1): lambda: life.b_life(j1(), 0.10),
    ("J2", "shape", 1): lambda: j2().shape,
    ("J2", "scale", 1): lambda: j2().scale,
    ("J2", "B10", 1): lambda: life.b_life(j2(), 0.10),
    ("J3", "bound", 1): lambda: life.mtbf_bound(5000, 2, 0.90),
    ("J3", "zero failures, 1000 h", 1): lambda: life.mtbf_bound(1000, 0, 0.90),
}

CALCULATIONS = SPRINGS | SEALS | BORES | FLUID | STORES | FLOW | LIFE
