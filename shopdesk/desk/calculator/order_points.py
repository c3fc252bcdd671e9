"""The stock at which to order again."""

import math

from shopdesk.calc import stores
from shopdesk.calc.stores import CountPoint, OrderPoint
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, incomplete, one_of
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.readers import Timed
from shopdesk.desk.calculator.stores import PIECES
from shopdesk.errors import BadInput


def in_one_unit(rate: Timed, span: Timed) -> tuple[float, float]:
    """A rate and a time in one unit of time, the rate's. BadInput where only one has a unit."""
    if (rate.seconds is None) != (span.seconds is None):
        raise BadInput(
            "One of the rate and the time has a unit and the other has none; write both plain, or "
            "both with one: 3/d and 12 d."
        )
    if rate.seconds is None or span.seconds is None:
        return rate.value, span.value
    return rate.value, span.value * (span.seconds / rate.seconds)


def _order_point(given: Given) -> Found:
    service, model = given.si("service"), given.words("model")
    if given.has("chance"):
        return _tabled(given, service)
    _asked_of_counts(given, model)
    mean, sigma, said = _lead_demand(given)
    if model == "normal":
        return _normal(stores.order_point_for(mean, sigma, service), said)
    if model == "poisson":
        found, how = _poisson(given, mean, service), "Poisson"
    else:
        found, how = stores.lumpy_order_point(mean, sigma**2, service), "negative binomial"
    return _counted(found, how, said, mean, given)


def _tabled(given: Given, service: float) -> Found:
    """From demand over the lead time as shares of past lead times."""
    table = given.pairs("chance")
    if any(pieces != int(pieces) for pieces, _ in table):
        raise BadInput("chance: demand is counted in whole pieces; write it as 12=0.25.")
    if len({pieces for pieces, _ in table}) < len(table):
        raise BadInput("chance: a demand was given twice; give each once, with its share.")
    chances = {int(pieces): share for pieces, share in table}
    found = stores.tabled_order_point(chances, service)
    mean = sum(pieces * share for pieces, share in chances.items())
    said = f"{len(chances)} demands, on average {mean:.5g}"
    return _counted(found, "as tabled", said, mean, given)


def _asked_of_counts(given: Given, model: str) -> None:
    """BadInput for a question that a model doesn't answer."""
    if given.has("kept") and model != "poisson":
        raise BadInput(f"A point kept was given with the {model} model; it asks for poisson.")
    if given.has("kept") and "service" in given.typed:
        raise BadInput("Both kept and service were given; one follows from the other.")
    if given.has("quantity") and model == "normal":
        raise BadInput(
            "An order quantity was given with the normal model; the share met from the shelf asks "
            "for poisson or lumpy."
        )


def _poisson(given: Given, mean: float, service: float) -> CountPoint:
    """The point for a service level, or what the point that is kept gives."""
    if not given.has("kept"):
        return stores.poisson_order_point(mean, service)
    kept = given.count("kept")
    return CountPoint(
        kept,
        stores.poisson_service(mean, kept),
        stores.poisson_shortage(mean, kept),
        kept - mean,
    )


def _lead_demand(given: Given) -> tuple[float, float, str]:
    """Mean and deviation of demand over the lead time, and the sum that gives them."""
    if given.has("lots"):
        return _in_lots(given)
    if given.has("lead-demand"):
        mean, sigma = given.si("lead-demand"), given.si_or("sigma", 0.0)
        return mean, sigma, f"demand over the lead time {mean:g} ± {sigma:g}"
    empty = [ORDER_POINT.field(n) for n in ("demand", "lead-time") if not given.has(n)]
    if len(empty) == 2:
        raise one_of(
            "order-point", "demand and lead-time", "lead-demand", "lots and lot-size", "chance"
        )
    if empty:
        raise incomplete("order-point", empty)
    rate, span = given.timed("demand"), given.timed("lead-time")
    demand, lead = in_one_unit(rate, span)
    lead_sigma = 0.0
    if given.has("lead-sigma"):
        _, lead_sigma = in_one_unit(rate, given.timed("lead-sigma"))
    found = stores.order_point(demand, given.si_or("demand-sigma", 0.0), lead, lead_sigma, 0.5)
    said = (
        f"d L = {demand:g} × {lead:g} = {found.lead_demand:.6g}; σ = √(L σd² + d² σL²) = "
        f"{found.sigma:.6g}"
    )
    return found.lead_demand, found.sigma, said


def _in_lots(given: Given) -> tuple[float, float, str]:
    if not given.has("lot-size"):
        raise incomplete("order-point with lots", [ORDER_POINT.field("lot-size")])
    lots, size = given.si("lots"), given.si("lot-size")
    found = stores.compound_demand(lots, size, given.si_or("lot-sigma", 0.0))
    sigma = math.sqrt(found.variance)
    said = f"λ m = {lots:g} × {size:g} = {found.mean:.6g}; σ = √(λ (m² + s²)) = {sigma:.6g}"
    return found.mean, sigma, said


def _normal(found: OrderPoint, said: str) -> Found:
    return Found(
        {
            "order_point": values.plain(found.point, PIECES),
            "safety_stock": values.plain(found.safety_stock, PIECES),
            "lead_demand": values.plain(found.lead_demand, PIECES),
            "sigma": values.plain(found.sigma, PIECES),
        },
        f"{said}; {found.lead_demand:.6g} + {found.z:.5g} × {found.sigma:.6g} = {found.point:.6g}",
        "d L + z σ, Chase, Jacobs and Aquilano; both varying, Heizer and Render (from memory)",
        (
            "For parts that go often. A part used a few times a year wants --model poisson, a "
            "lumpy one --model lumpy.",
            "Order when stock on hand and on order, less what is promised, is there or below.",
        ),
    )


def _counted(found: CountPoint, how: str, said: str, mean: float, given: Given) -> Found:
    results = {
        "order_point": values.whole(found.point, PIECES),
        "service": values.percent(found.service, 3),
        "expected_shortage": values.plain(found.expected_shortage, PIECES, 4),
        "safety_stock": values.plain(found.safety_stock, PIECES),
        "lead_demand": values.plain(mean, PIECES),
    }
    if given.has("quantity"):
        met = stores.fill_rate(found.expected_shortage, given.si("quantity"))
        results["fill_rate"] = values.percent(met, 3)
    sought = "r as kept" if given.has("kept") else "smallest r with P(D <= r) at the level"
    return Found(
        results,
        f"{said}; {sought}: P(D <= {found.point}) = {100 * found.service:.5g} %",
        f"definition, demand {how}",
        ("Order when stock on hand and on order, less what is promised, is there or below.",),
    )


ORDER_POINT = Calculation(
    "order-point",
    "The stock at which to order again",
    (
        Field("demand", Kind.RATE, "3/d, or a plain number in one unit of time.", False,
              metavar="RATE"),
        Field("demand-sigma", Kind.NUMBER, "Its deviation in that unit of time.", False,
              metavar="PIECES"),
        Field("lead-time", Kind.SPAN, "12 d, or plain in the same unit.", False, metavar="TIME"),
        Field("lead-sigma", Kind.SPAN, "Its deviation.", False, metavar="TIME"),
        Field("lead-demand", Kind.NUMBER, "Instead: demand over the whole lead time.", False,
              metavar="PIECES"),
        Field("sigma", Kind.NUMBER, "Deviation of that demand.", False, metavar="PIECES"),
        Field("lots", Kind.NUMBER, "Or: jobs over the lead time that take some,", False,
              metavar="N"),
        Field("lot-size", Kind.NUMBER, "pieces each takes,", False, metavar="PIECES"),
        Field("lot-sigma", Kind.NUMBER, "and their deviation.", False, metavar="PIECES"),
        Field("chance", Kind.PAIR, "Or each demand and its share of lead times: 12=0.25.", False,
              repeated=True, metavar="PIECES=SHARE"),
        Field("service", Kind.PERCENT, "Share of lead times without running out.", False, "95 %",
              metavar="PERCENT"),
        Field("model", Kind.WORDS, "How demand varies.", False, "normal",
              options=("normal", "poisson", "lumpy")),
        Field("kept", Kind.COUNT, "Instead of a level: the point kept (poisson).", False,
              metavar="PIECES"),
        Field("quantity", Kind.NUMBER, "Pieces an order, for the share met from the shelf.", False,
              metavar="PIECES"),
    ),
    _order_point,
    {"demand": "150/d", "demand-sigma": "16", "lead-time": "5 d", "lead-sigma": "1 d",
     "service": "95 %"},
)  # fmt: skip

CALCULATIONS = (ORDER_POINT,)
