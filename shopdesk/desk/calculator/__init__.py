"""The bench's calculations as data: the app's calculator and the command line use the same ones.

Nothing here touches a database or a screen. A calculation has fields, a sum, an example that works;
``run`` takes what was typed into the fields and gives results in the units people used.
"""

from collections.abc import Mapping
from types import MappingProxyType

from shopdesk.desk.calculator import (
    bench,
    bores,
    bottles,
    gas,
    glands,
    judging,
    leak_units,
    leaks,
    order_points,
    reliefs,
    seals,
    shelf,
    springs,
    stores,
    stress,
    times,
    tools,
    torque,
)
from shopdesk.desk.calculator.forms import (
    Calculation,
    Field,
    Incomplete,
    Kind,
    Outcome,
    Value,
)
from shopdesk.errors import BadInput

__all__ = [
    "CALCULATIONS",
    "Calculation",
    "Field",
    "Incomplete",
    "Kind",
    "Outcome",
    "Value",
    "run",
]

_FAMILIES = (
    gas,
    bottles,
    leaks,
    leak_units,
    torque,
    tools,
    springs,
    stress,
    reliefs,
    seals,
    glands,
    shelf,
    bores,
    bench,
    judging,
    order_points,
    stores,
    times,
)

CALCULATIONS: Mapping[str, Calculation] = MappingProxyType(
    {each.name: each for family in _FAMILIES for each in family.CALCULATIONS}
)
"""By name, in the order they are listed."""


def run(name: str, values: Mapping[str, str]) -> Outcome:
    """The outcome of a calculation for what was typed into its fields.

    Raises BadInput for a name nobody knows, and as ``Calculation.run``.
    """
    if name not in CALCULATIONS:
        raise BadInput(f"{name[:40]!r} is no calculation; known are {', '.join(CALCULATIONS)}.")
    return CALCULATIONS[name].run(values)
