"""Forecasts kept, so that they can be scored against what happened."""

from sqlalchemy import insert

from shopdesk.desk.shop import Deed, Shop
from shopdesk.records.tables import Forecast
from shopdesk.views import promised
from shopdesk.views.forecasts import Promises


def keep(shop: Shop, told: Promises) -> bool:
    """Keeps what was said of every open job, once a day; gives back whether it did now."""

    def work(deed: Deed) -> bool:
        last = promised.last_kept(deed.db)
        today = deed.now.astimezone().date()
        if not told.dates or told.outlook is None:
            return False
        if last is not None and last.astimezone().date() >= today:
            return False
        rows = [
            {
                "job_id": dates.job.job_id,
                "at": deed.now,
                "promised_on": dates.job.promised_on,
                "by_50": dates.by_50,
                "by_80": dates.by_80,
                "by_95": dates.by_95,
                "by_plain": dates.plain,
                "runs": told.outlook.runs,
            }
            for dates in told.dates.values()
        ]
        deed.db.execute(insert(Forecast), rows)
        said = {str(d.job.number): d.by_80.isoformat() for d in told.dates.values()}
        deed.event("forecast", None, {"by_80": said, "runs": told.outlook.runs})
        return True

    return shop.write(work)
