"""An O-ring in its gland: piston (groove in the inner part), rod (groove in the bore) and face.

Lengths in metres, nominal sizes. Section, squeeze and fill are those of the stretched ring by the
constant-volume torus; the handbook curve stands apart, as the thinner, safer figure.
"""

from dataclasses import dataclass

from shopdesk.calc._numeric import above_zero, not_below_zero
from shopdesk.calc.seals import (
    FULLEST_GLAND,
    HANDBOOK_LIMIT,
    MOST_CRUSH,
    MOST_STRETCH,
    Ring,
    compressed_section,
    fill,
    handbook_section_loss,
    squeeze,
    stretch,
    stretched_section,
)
from shopdesk.errors import BadInput


@dataclass(frozen=True)
class Gland:
    """``stretch`` of the inside diameter, ``crush`` of the outside one, both shares; below zero the
    ring is loose.

    ``handbook_*`` by the handbook curve, None beyond its range. ``cautions`` where the figures
    leave usual practice.
    """

    kind: str
    depth_m: float
    stretch: float
    crush: float
    section_m: float
    squeeze: float
    fill: float
    handbook_section_m: float | None
    handbook_squeeze: float | None
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class ExtrusionGap:
    """The gap pressure pushes the ring into, in metres: parts in line, and lying to one side."""

    radial_m: float
    one_sided_m: float


def piston_gland(ring: Ring, groove_m: float, bore_m: float, width_m: float) -> Gland:
    """A ring stretched on a groove of ``groove_m`` in a piston, squeezed by a bore of ``bore_m``.

    Depth = (bore - groove)/2. BadInput for a groove not smaller than the bore.
    Source: as ``seals.stretched_section``, ``squeeze`` and ``fill``.
    """
    depth = _radial_depth(groove_m, bore_m, "Groove", "bore")
    section = _on(ring, groove_m)
    return _gland("piston", ring, depth, width_m, stretch(ring.inside_m, groove_m), 0.0, section)


def rod_gland(ring: Ring, groove_m: float, rod_m: float, width_m: float) -> Gland:
    """A ring in a groove of ``groove_m`` in a housing, squeezed by a rod of ``rod_m``.

    Depth = (groove - rod)/2. A ring smaller than the rod is stretched by it, one larger than the
    groove is crushed into it. BadInput for a rod not smaller than the groove. Source: as
    ``piston_gland``.
    """
    depth = _radial_depth(rod_m, groove_m, "Rod", "groove")
    stretched = max(stretch(ring.inside_m, rod_m), 0.0)
    if stretched > 0.0:
        return _gland("rod", ring, depth, width_m, stretched, 0.0, _on(ring, rod_m))
    crushed, section = _held_in(ring, groove_m)
    return _gland("rod", ring, depth, width_m, 0.0, max(crushed, 0.0), section)


def face_gland(
    ring: Ring,
    depth_m: float,
    width_m: float,
    outside_m: float | None = None,
    inside_m: float | None = None,
) -> Gland:
    """A ring squeezed between faces in a groove of ``depth_m``.

    Pressure from inside: give the groove's ``outside_m``, which must hold the ring out. Pressure
    from outside: give its ``inside_m``, which must hold the ring in. BadInput for both or neither.
    Source: as ``piston_gland``.
    """
    if (outside_m is None) == (inside_m is None):
        raise BadInput(
            "A face gland needs one diameter: the groove's outside where pressure comes from "
            "inside, or its inside where pressure comes from outside."
        )
    if inside_m is not None:
        stretched, section = stretch(ring.inside_m, inside_m), _on(ring, inside_m)
        return _gland("face", ring, depth_m, width_m, stretched, 0.0, section)
    crushed, section = _held_in(ring, outside_m or 0.0)
    return _gland("face", ring, depth_m, width_m, 0.0, crushed, section)


def _on(ring: Ring, diameter_m: float) -> float:
    """Section on a diameter; a loose ring keeps its own."""
    if diameter_m <= ring.inside_m:
        return ring.section_m
    return stretched_section(ring.inside_m, ring.section_m, diameter_m)


def _held_in(ring: Ring, diameter_m: float) -> tuple[float, float]:
    """Crush of the outside diameter and section in a groove; a loose ring keeps its own."""
    crushed = (ring.outside_m - above_zero(diameter_m, "Groove outside in m")) / diameter_m
    if crushed <= 0.0:
        return crushed, ring.section_m
    return crushed, compressed_section(ring.inside_m, ring.section_m, diameter_m)


def _radial_depth(inner_m: float, outer_m: float, inner: str, outer: str) -> float:
    if above_zero(inner_m, f"{inner} in m") >= above_zero(outer_m, f"{outer} in m"):
        raise BadInput(
            f"{inner} was read as {inner_m * 1e3:g} mm and the {outer} as {outer_m * 1e3:g} mm; "
            f"the {outer} must be the larger."
        )
    return 0.5 * (outer_m - inner_m)


def _gland(
    kind: str,
    ring: Ring,
    depth_m: float,
    width_m: float,
    stretched: float,
    crushed: float,
    section_m: float,
) -> Gland:
    thinner = _handbook_section(ring, stretched)
    filled, squeezed = fill(section_m, depth_m, width_m), squeeze(section_m, depth_m)
    return Gland(
        kind=kind,
        depth_m=depth_m,
        stretch=stretched,
        crush=crushed,
        section_m=section_m,
        squeeze=squeezed,
        fill=filled,
        handbook_section_m=thinner,
        handbook_squeeze=None if thinner is None else squeeze(thinner, depth_m),
        cautions=_cautions(stretched, crushed, squeezed, filled),
    )


def _handbook_section(ring: Ring, stretched: float) -> float | None:
    if stretched >= HANDBOOK_LIMIT:
        return None
    return ring.section_m * (1.0 - handbook_section_loss(stretched))


def _cautions(stretched: float, crushed: float, squeezed: float, filled: float) -> tuple[str, ...]:
    found = []
    if stretched < 0.0 or crushed < 0.0:
        found.append("The ring is loose in its groove: pressure moves it before it seals.")
    if stretched > MOST_STRETCH:
        found.append(f"Stretched {100 * stretched:.1f} %: more than 5 % is not advised.")
    if crushed > MOST_CRUSH:
        found.append(f"Larger than its groove by {100 * crushed:.1f} %: it may buckle.")
    if squeezed <= 0.0:
        found.append("No squeeze: the gland is deeper than the ring is thick.")
    if filled > 1.0:
        found.append(f"Gland fill {100 * filled:.0f} %: the ring doesn't go into the gland.")
    elif filled > FULLEST_GLAND:
        found.append(f"Gland fill {100 * filled:.0f} %: little room for swell and heat.")
    return tuple(found)


def extrusion_gap(bore_m: float, inner_m: float) -> ExtrusionGap:
    """The gap [m] behind a ring between a bore and a piston or rod: (bore - inner)/2, or all of it.

    Use the largest bore and the smallest piston; parts breathe under pressure on top. BadInput for
    interference. What gap a compound stands at a pressure is the seal maker's chart to say.
    Source: definition.
    """
    diametral = above_zero(bore_m, "Bore in m") - above_zero(inner_m, "Piston or rod in m")
    if diametral < 0.0:
        raise BadInput(
            f"Bore was read as {bore_m * 1e3:g} mm and the part in it as {inner_m * 1e3:g} mm; the "
            "bore must be the larger."
        )
    return ExtrusionGap(0.5 * diametral, diametral)


def face_gap(clearance_m: float) -> ExtrusionGap:
    """The gap [m] between faces held apart by ``clearance_m``; metal to metal is 0."""
    gap = not_below_zero(clearance_m, "Gap between the faces in m")
    return ExtrusionGap(gap, gap)
