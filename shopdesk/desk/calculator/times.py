"""How long work takes to get through, and how long units last."""

from shopdesk.calc import flow, life, stats
from shopdesk.calc.flow import Queue
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import (
    Calculation,
    Field,
    Found,
    Kind,
    incomplete,
    one_of,
)
from shopdesk.desk.calculator.given import Given
from shopdesk.desk.calculator.order_points import in_one_unit
from shopdesk.desk.calculator.readers import Timed


def _flow_time(given: Given) -> Found:
    if given.has("in-shop", "throughput"):
        return _little(given)
    empty = [FLOW_TIME.field(n) for n in ("arrivals", "process-time") if not given.has(n)]
    if len(empty) == 2:
        raise one_of("flow-time", "arrivals and process-time", "in-shop and throughput")
    if empty:
        raise incomplete("flow-time", empty)
    return _station(given)


def _little(given: Given) -> Found:
    out, inside = given.timed("throughput"), given.si("in-shop")
    weeks = flow.little_flow_time(inside, out.value)
    return Found(
        {"flow_time": values.plain(weeks, out.unit)},
        f"W = L/λ = {inside:g}/{out.value:g} = {weeks:.6g} {out.unit}".rstrip(),
        "Little 1961",
        ("A mean over a long time in which as much goes out as comes in.",),
    )


def _station(given: Given) -> Found:
    arrivals, time = given.timed("arrivals"), given.timed("process-time")
    rate, process = in_one_unit(arrivals, time)
    process_cv2, said = given.si("process-variation"), ""
    if given.has("availability", "repair-time"):
        _, repair = in_one_unit(arrivals, given.timed("repair-time"))
        found = flow.with_breakdowns(
            process, process_cv2, given.si("availability"), repair, given.si("repair-variation")
        )
        process, process_cv2 = found.mean_s, found.cv_squared
        said = "te = t0/A and ce² = c0² + (1 + cr²) A (1 - A) mr/t0; "
    elif given.has("availability") or given.has("repair-time"):
        raise one_of("flow-time", "availability together with repair-time")
    queue = flow.kingman(
        rate, process, given.si("arrival-variation"), process_cv2, given.count("servers")
    )
    factor = _factor(arrivals, time)
    through = _queued(queue, factor, time.unit, process_cv2, said, given)
    if given.si("arrival-variation") == process_cv2 == 1.0:
        exact = flow.mmc(rate, 1.0 / process, given.count("servers"))
        return _beside_erlang(through, exact, factor)
    return through


def _beside_erlang(found: Found, exact: Queue, factor: float) -> Found:
    """Where all is at random the exact answer is known, and how often somebody waits."""
    assert exact.wait_probability is not None
    waits = exact.queue_time_s * factor
    unit = found.results["queue_time"].unit
    more = {
        "queue_time_exact": values.plain(waits, unit),
        "wait_probability": values.percent(exact.wait_probability),
    }
    return Found(
        {**found.results, **more},
        f"{found.sum_text}; Erlang C: waits {waits:.5g} {unit}".rstrip(),
        f"{found.source}; Erlang C, any queueing text",
        found.cautions,
    )


def _factor(arrivals: Timed, time: Timed) -> float:
    """Units of the process time in one of the arrivals'."""
    if arrivals.seconds is None or time.seconds is None:
        return 1.0
    return arrivals.seconds / time.seconds


def _queued(queue: Queue, factor: float, unit: str, cv2: float, said: str, given: Given) -> Found:
    waits, whole = queue.queue_time_s * factor, queue.flow_time_s * factor
    return Found(
        {
            "flow_time": values.plain(whole, unit),
            "queue_time": values.plain(waits, unit),
            "process_time": values.plain(whole - waits, unit),
            "utilisation": values.percent(queue.utilisation),
            "in_queue": values.plain(queue.in_queue),
            "in_system": values.plain(queue.in_system),
            "process_variation": values.plain(cv2),
        },
        f"{said}(ca² + ce²)/2 · u^(√(2(c+1)) - 1)/(c (1 - u)) · te with ca² = "
        f"{given.si('arrival-variation'):g}, ce² = {cv2:.5g}, u = {queue.utilisation:.5g}, c = "
        f"{given.count('servers')}: waits {waits:.5g} {unit}".rstrip(),
        "Kingman 1961; Hopp and Spearman, Factory Physics (from memory)",
        (
            "Exact for random arrivals with random or fixed times at one server, an approximation "
            "otherwise; long-run means.",
        ),
    )


def _variation(name: str, help_: str) -> Field:
    return Field(name, Kind.NUMBER, help_, False, "1", metavar="CV2")


FLOW_TIME = Calculation(
    "flow-time",
    "How long work takes through a station, waiting included",
    (
        Field("arrivals", Kind.RATE, "2.875/h, or plain in one unit of time.", False,
              metavar="RATE"),
        Field("process-time", Kind.SPAN, "Hands-on time of one.", False, metavar="TIME"),
        Field("servers", Kind.COUNT, "People or benches alike.", False, "1", metavar="N"),
        _variation("arrival-variation", "ca²: 1 at random, 0 like a clock."),
        _variation("process-variation", "c0² of the process time."),
        Field("availability", Kind.PERCENT, "Share of time the station is up.", False,
              metavar="PERCENT"),
        Field("repair-time", Kind.SPAN, "Mean time to repair it.", False, metavar="TIME"),
        _variation("repair-variation", "cr² of the repair time."),
        Field("in-shop", Kind.NUMBER, "Instead: units in the shop.", False, metavar="N"),
        Field("throughput", Kind.RATE, "and what leaves it: 3/wk.", False, metavar="RATE"),
    ),
    _flow_time,
    {"arrivals": "8/h", "process-time": "5 min", "process-variation": "0"},
)  # fmt: skip


def _life(given: Given) -> Found:
    fitted = _fitted(given) if given.has("failed") else None
    bound = _bound(given) if given.has("total-time", "failures") else None
    if fitted is None and given.has("age"):
        raise incomplete("life at an age", [LIFE.field("failed")])
    done = [each for each in (fitted, bound) if each is not None]
    if not done:
        raise one_of("life", "failed", "total-time and failures")
    return Found(
        {name: value for each in done for name, value in each.results.items()},
        "; ".join(each.sum_text for each in done),
        "; ".join(each.source for each in done),
        tuple(caution for each in done for caution in each.cautions),
    )


def _fitted(given: Given) -> Found:
    running = given.numbers("running") if given.has("running") else ()
    fit = life.weibull_fit(given.numbers("failed"), running)
    unit = _unit(given)
    results = {
        "shape": values.plain(fit.shape),
        "scale": values.plain(fit.scale, unit, 6),
        "b_life": values.plain(life.b_life(fit, given.si("b")), unit, 6),
    }
    if given.has("age"):
        results["still_running"] = values.percent(life.survival(fit, given.si("age")))
    return Found(
        results,
        f"{fit.failures} failed, {fit.running} still running: F(t) = 1 - "
        f"exp(-(t/{fit.scale:.6g})^{fit.shape:.5g})",
        "maximum likelihood, Lawless, Statistical Models and Methods for Lifetime Data (from "
        "memory)",
        (*fit.cautions, "Units still running count: give their ages, or the life reads short."),
    )


def _bound(given: Given) -> Found:
    total, failures = given.si("total-time"), given.count("failures")
    confidence = given.si("confidence")
    found = life.mtbf_bound(total, failures, confidence)
    return Found(
        {"mtbf_bound": values.plain(found, _unit(given), 6)},
        f"2 T/χ²({confidence:g}, 2 r + 2) = 2 × {total:g}/χ²({confidence:g}, {2 * failures + 2}) = "
        f"{found:.6g}",
        "MIL-HDBK-781 and reliability texts (from memory)",
        ("Only for failures at random: shape near 1.",),
    )


def _unit(given: Given) -> str:
    return given.words("unit") if given.has("unit") else ""


LIFE = Calculation(
    "life",
    "Weibull life of units, or a bound on time between failures",
    (
        Field("failed", Kind.NUMBERS, "Lives at failure, separated by spaces.", False,
              metavar="LIVES"),
        Field("running", Kind.NUMBERS, "Ages of units still running.", False, metavar="AGES"),
        Field("b", Kind.PERCENT, "Share failed that the B-life is for.", False, "10 %",
              metavar="PERCENT"),
        Field("age", Kind.NUMBER, "An age: the share still running then.", False,
              metavar="AGE"),
        Field("total-time", Kind.NUMBER, "Time of all units together, for the bound.", False,
              metavar="TIME"),
        Field("failures", Kind.COUNT, "Failures in it.", False, metavar="N"),
        Field("confidence", Kind.PERCENT, "One-sided, of the bound.", False, "90 %",
              metavar="PERCENT"),
        Field("unit", Kind.WORDS, "The unit all times are in, to be shown.", False,
              metavar="UNIT"),
    ),
    _life,
    {"failed": "410 620 655 880", "running": "500 900 950", "unit": "h"},
)  # fmt: skip


def _share(given: Given) -> Found:
    count, of, confidence = given.count("count"), given.count("of"), given.si("confidence")
    low, high = stats.proportion_bounds(count, of, confidence)
    return Found(
        {
            "share": values.percent(count / of),
            "low": values.percent(low),
            "high": values.percent(high),
        },
        f"{count}/{of}; beta quantiles at {100 * confidence:g} %: {100 * low:.4g} to "
        f"{100 * high:.4g} %",
        "Clopper and Pearson, Biometrika 26 (1934) 404-413: exact",
        ("Few units leave wide bounds: two shares whose bounds overlap may be alike.",),
    )


SHARE = Calculation(
    "share",
    "A share of units, right first time or come back, with its bounds",
    (
        Field("count", Kind.COUNT, "How many were.", metavar="N"),
        Field("of", Kind.COUNT, "Of how many.", metavar="N"),
        Field("confidence", Kind.PERCENT, "Two-sided.", False, "95 %", metavar="PERCENT"),
    ),
    _share,
    {"count": "47", "of": "50"},
)

CALCULATIONS = (FLOW_TIME, LIFE, SHARE)
