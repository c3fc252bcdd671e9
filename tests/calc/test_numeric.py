"""Numbers nothing on a bench has are refused with a sentence before a formula overflows."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import bore, flow, glands, life, relief, seals, spring, stores
from shopdesk.calc._numeric import above_zero, finite, not_below_zero
from shopdesk.errors import BadInput, ShopError

WILD = st.one_of(
    st.floats(),
    st.floats(1e-32, 1e32),
    st.sampled_from([0.0, -1.0, 1e-320, 1e-30, 1e30, 1e300, math.nan, math.inf, float("1e999")]),
)
RING = seals.ring("214")
CALLS: list[Callable[[float, float, float], object]] = [
    lambda a, b, c: spring.rate(a, b, c, 79.3e9),
    spring.stress,
    relief.cracking_pressure,
    relief.depth_change,
    relief.pilot_opening,
    lambda a, b, c: relief.repeat_depths([a, b, c]),
    lambda a, b, c: bore.survey([[a, b], [b, c]]),
    lambda a, b, c: bore.fit_leak(a, b, c, 0.03, 0.015),
    lambda a, b, c: bore.profile_roughness([a, b, c]),
    seals.stretched_section,
    seals.compressed_section,
    seals.fill,
    lambda a, b, c: glands.piston_gland(RING, a, b, c),
    lambda a, b, c: glands.rod_gland(RING, a, b, c),
    lambda a, b, c: glands.face_gland(RING, a, b, outside_m=c),
    lambda a, b, c: flow.kingman(a, b, c, 1.0),
    lambda a, b, c: flow.mmc(a, b),
    lambda a, b, c: life.weibull_fit([a, b], [c]),
    stores.order_quantity,
    stores.lumpy_order_point,
]


@pytest.mark.parametrize("call", CALLS)
@given(a=WILD, b=WILD, c=WILD)
def test_a_value_or_a_sentence(
    call: Callable[[float, float, float], object], a: float, b: float, c: float
) -> None:
    """No OverflowError, ZeroDivisionError or NaN, whatever is typed."""
    refusal: ShopError | None = None
    found: object = None
    try:
        found = call(a, b, c)
    except ShopError as error:
        refusal = error
    if refusal is not None:
        assert refusal.exit_status == 2
        assert str(refusal).endswith(".")
    assert not isinstance(found, float) or math.isfinite(found)


@pytest.mark.parametrize("check", [finite, above_zero, not_below_zero])
def test_checks_name_what_was_read(check: Callable[[float, str], float]) -> None:
    for bad in (math.nan, math.inf, 1e31):
        with pytest.raises(BadInput, match=r"Length was read as"):
            check(bad, "Length")
    assert check(0.25, "Length") == 0.25
