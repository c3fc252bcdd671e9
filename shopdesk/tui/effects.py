"""Whom a promise delays, in words."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from shopdesk.tui.columns import day

if TYPE_CHECKING:
    from shopdesk.views.forecasts import Effect, WhatIf

NAMED = 3


def whom(effects: "Sequence[Effect]", today: date) -> str:
    """ "Delays J-1182 by 6.2 h (80 %: 4 Dec, was 3 Dec) and 2 more"; at most the first three."""
    if not effects:
        return "Delays nobody by half an hour or more."
    said = []
    for effect in effects[:NAMED]:
        moved = ""
        if effect.now > effect.was:
            moved = f" (80 %: {day(effect.now, today)}, was {day(effect.was, today)})"
        said.append(f"J-{effect.job.number} by {effect.mean_h:.1f} h{moved}")
    more = len(effects) - NAMED
    return f"Delays {', '.join(said)}{f' and {more} more' if more > 0 else ''}."


def outcome(found: "WhatIf", asked: date, today: date) -> str:
    """What becomes of a job promised for a day, and of the others."""
    if found.dates is None:
        return ""
    kept = f"{day(asked, today)} is kept with {found.keeps or 0.0:.0%}"
    return f"{kept} (80 %: {day(found.dates[1], today)}). {whom(found.effects, today)}"
