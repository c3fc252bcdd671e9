"""The gland charts: their depths against the squeeze they print, and what lies between the rows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shopdesk.calc import gland_charts, seals
from shopdesk.calc.torque import INCH_M
from shopdesk.errors import BadInput, OutOfRange

DASH_OF_SECTION = {0.070: "010", 0.103: "110", 0.139: "210", 0.210: "325", 0.275: "425"}
USES = (("piston", "static"), ("rod", "reciprocating"), ("face", "static"))

# (gland, service, section, squeeze printed, gland depth, groove width) in % and inches. Source: the
# static and reciprocating cylinder charts of an open engineering page (a common US O-ring
# handbook's); the face chart from memory of that handbook.
PRINTED = [
    ("piston", "static", 0.070, (22, 32), (0.050, 0.052), (0.093, 0.098)),
    ("rod", "static", 0.103, (17, 24), (0.081, 0.083), (0.140, 0.145)),
    ("rod", "static", 0.139, (16, 23), (0.111, 0.113), (0.187, 0.192)),
    ("piston", "static", 0.210, (15, 21), (0.170, 0.173), (0.281, 0.286)),
    ("piston", "static", 0.275, (15, 20), (0.226, 0.229), (0.375, 0.380)),
    ("piston", "reciprocating", 0.070, (15, 25), (0.055, 0.057), (0.093, 0.098)),
    ("rod", "reciprocating", 0.103, (10, 17), (0.088, 0.090), (0.140, 0.145)),
    ("piston", "reciprocating", 0.139, (9, 16), (0.121, 0.123), (0.187, 0.192)),
    ("rod", "reciprocating", 0.210, (8, 14), (0.185, 0.188), (0.281, 0.286)),
    ("rod", "reciprocating", 0.275, (11, 16), (0.237, 0.240), (0.375, 0.380)),
    ("face", "static", 0.070, (19, 32), (0.050, 0.054), (0.101, 0.107)),
    ("face", "static", 0.103, (20, 30), (0.074, 0.080), (0.136, 0.142)),
    ("face", "static", 0.139, (20, 30), (0.101, 0.107), (0.177, 0.187)),
    ("face", "static", 0.210, (21, 30), (0.152, 0.162), (0.270, 0.290)),
    ("face", "static", 0.275, (21, 29), (0.201, 0.211), (0.342, 0.362)),
]


@pytest.mark.parametrize(
    ("gland", "service", "section_in", "squeeze", "depth_in", "width_in"), PRINTED
)
def test_a_row_is_as_printed_and_its_depth_makes_its_squeeze(
    gland: str,
    service: str,
    section_in: float,
    squeeze: tuple[int, int],
    depth_in: tuple[float, float],
    width_in: tuple[float, float],
) -> None:
    """The printed percents follow from depth and AS568 tolerance, two independent tables, to a
    rounding (one printed row is a whole percent off)."""
    found = gland_charts.advised(gland, service, section_in * INCH_M)
    assert found.squeeze == pytest.approx((squeeze[0] / 100, squeeze[1] / 100))
    assert found.depth_m == pytest.approx(tuple(d * INCH_M for d in depth_in))
    assert found.width_m == pytest.approx(tuple(w * INCH_M for w in width_in))
    assert not found.between
    ring = seals.ring(DASH_OF_SECTION[section_in])
    spans = seals.squeeze_range(ring.section_m, ring.section_tol_m, *found.depth_m)
    assert (100 * spans.low, 100 * spans.high) == pytest.approx(squeeze, abs=1.0)


@pytest.mark.parametrize(("gland", "service"), USES)
def test_every_gland_of_the_charts_is_about_three_quarters_full(gland: str, service: str) -> None:
    """70 to 85 % is what several open pages on gland fill advise."""
    for section_in in DASH_OF_SECTION:
        of = gland_charts.advised(gland, service, section_in * INCH_M)
        full = 0.25 * math.pi * (section_in * INCH_M) ** 2 / (sum(of.depth_m) * sum(of.width_m) / 4)
        assert 0.60 < full < 0.85


@pytest.mark.parametrize(("gland", "service"), USES)
@given(section_mm=st.floats(1.78, 6.98))
def test_between_two_rows_it_lies_between_them(gland: str, service: str, section_mm: float) -> None:
    found = gland_charts.advised(gland, service, section_mm / 1e3)
    rows = [gland_charts.advised(gland, service, inch * INCH_M) for inch in DASH_OF_SECTION]
    below = max((r for r in rows if r.depth_m[0] <= found.depth_m[0] + 1e-12), key=_depth)
    above = min((r for r in rows if r.depth_m[0] >= found.depth_m[0] - 1e-12), key=_depth)
    for low, here, high in zip(below.width_m, found.width_m, above.width_m, strict=True):
        assert low - 1e-12 <= here <= high + 1e-12
    ends = sorted((below.squeeze[0], above.squeeze[0]))
    assert ends[0] - 1e-9 <= found.squeeze[0] <= ends[1] + 1e-9


def _depth(of: gland_charts.Advised) -> float:
    return of.depth_m[0]


def test_what_slides_is_squeezed_less_than_what_stands() -> None:
    """Friction: every printed guide asks less of a moving ring, more of a face."""
    for section_in in DASH_OF_SECTION:
        moving, radial, face = (
            gland_charts.advised(gland, service, section_in * INCH_M)
            for gland, service in (
                ("piston", "reciprocating"),
                ("piston", "static"),
                ("face", "static"),
            )
        )
        assert moving.squeeze[1] < radial.squeeze[1] <= face.squeeze[1]
        assert moving.depth_m[0] > radial.depth_m[0] >= face.depth_m[0]


def test_what_the_charts_do_not_have() -> None:
    with pytest.raises(OutOfRange, match=r"the chart has 1\.778 to 6\.985 mm"):
        gland_charts.advised("piston", "static", 1.0e-3)
    with pytest.raises(OutOfRange, match="seal maker's"):
        gland_charts.advised("piston", "static", 8.4e-3)
    with pytest.raises(BadInput, match="between faces nothing slides"):
        gland_charts.advised("face", "reciprocating", 2.62e-3)
    with pytest.raises(BadInput, match="known are piston, rod, face"):
        gland_charts.advised("square", "static", 2.62e-3)
    with pytest.raises(BadInput, match="finite"):
        gland_charts.advised("rod", "static", math.nan)
