"""Why a part is or is not on the order list, with its demand drawn."""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from shopdesk.desk.calculator.curves import Curve, Drawing

if TYPE_CHECKING:
    from shopdesk.rules.reorder import Advice
    from shopdesk.views.stocked import Known

_TALLEST = 200  # pieces a column is drawn for one by one


def drawing(known: "Known", advice: "Advice", months: Sequence[int]) -> Drawing:
    """A column a month of what jobs drew, and the mean; the advice beneath in sentences."""
    step = max(1, -(-max(months, default=1) // _TALLEST))
    columns = tuple(
        (float(index - len(months) + 1), float(height))
        for index, pieces in enumerate(months)
        for height in range(step, pieces + 1, step)
    )
    mean = sum(months) / len(months)
    level = ((1.0 - len(months), mean), (0.0, mean))
    return Drawing(
        title=f"{known.number} {known.description}: demand",
        across="months before this one",
        up="pieces a month",
        curves=(
            Curve("drawn by jobs", columns, "#", joined=False),
            Curve(f"mean {mean:.1f}", level, "-"),
        ),
        said=tuple(explained(known, advice)),
    )


def explained(known: "Known", advice: "Advice") -> list[str]:
    part, demand = known.stocked, advice.demand
    verdict = (
        f"ORDER {known.sold(advice.pieces)} from {known.offer.supplier}"
        if advice.due
        else f"not to order: {part.coming} free or on order, {advice.least} to have"
    )
    said = [f"{verdict}. {advice.why}."]
    if part.uses.times:
        said.append(
            f"{part.uses.times} jobs drew {part.uses.pieces} in {part.uses.days} days; over the "
            f"lead time {demand.mean:.2f} ± {math.sqrt(demand.variance):.2f}."
        )
    if advice.point is not None:
        said.append(
            f"Ordered at {advice.point}, which meets {100 * advice.service:.1f} % of lead times; "
            f"{100 * advice.wanted_service:.0f} % is wanted."
        )
    said.append(
        f"Usual order {advice.usual} in packs of {part.pack}, lead time {part.lead.said} "
        f"(quoted {part.lead.quoted})."
    )
    return said
