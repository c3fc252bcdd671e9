"""The office's reports by name. The screens, the command line and the printed page read them here;
``name`` may carry what it is about: "promise:1047"."""

from importlib import import_module
from typing import TYPE_CHECKING

from shopdesk.errors import NotFound

if TYPE_CHECKING:
    from shopdesk.desk.reports.made import Report, Tell
    from shopdesk.desk.shop import Shop

REPORTS = {
    "morning": ("the day's questions on one page", "morning"),
    "backlog": ("open jobs by whose move it is, and how old they are", "backlog"),
    "promises": ("when every open job will be done", "promising"),
    "promise": ("one job's promises and forecasts, promise:1047", "promising"),
    "calibration": ("forecasts against what happened", "promising"),
    "load": ("who and which bench is loaded, this week and next", "load"),
    "quality": ("first-pass yield, rework, causes", "quality"),
    "returns": ("what comes back, how often and how soon", "returns"),
    "drift": ("readings of one serial across its visits", "returns"),
    "suspect": ("what an instrument that failed its check puts in doubt, suspect:W-07", "tracing"),
    "recall": ("units and customers of a lot, tool, person …, recall:lot:L-1", "tracing"),
    "claim": ("a unit back under warranty beside the job it left with, claim:1047", "claim"),
    "money": ("work in progress, quotes, warranty, stock", "money"),
}


def make(shop: "Shop", name: str, tell: "Tell | None" = None) -> "Report":
    """The report of this name as of now. Raises NotFound; forecast.Cancelled where ``tell`` says
    to stop."""
    kind, _, about = name.partition(":")
    if kind not in REPORTS:
        raise NotFound(f"no report {kind[:30]!r}; there are: {', '.join(REPORTS)}")
    module = import_module(f"shopdesk.desk.reports.{REPORTS[kind][1]}")
    made: Report = getattr(module, kind)(shop, tell, about)
    return made
