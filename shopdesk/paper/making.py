"""Every paper by its name, as the command line and the app ask for it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from shopdesk.errors import NotFound
from shopdesk.paper import page
from shopdesk.paper.page import Paper

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.views.sheets import SheetView


@dataclass(frozen=True, slots=True)
class Made:
    """A paper ready for each use: ``name`` its file's without ending, ``pdf(letter)`` its bytes."""

    name: str
    text: str
    pdf: Callable[[bool], bytes]


OF_JOB = {
    "tag": "unit tag",
    "pressure-tag": "pressure-state tag",
    "job-sheet": "job sheet",
    "quote": "quote",
    "pick-list": "pick list",
    "packing-slip": "packing slip",
    "certificate": "certificate",
}
OF_SHOP = {
    "handover": "shift hand-over",
    "count-sheet": "count sheet",
    "count-due": "count sheet of what is due",
    "order": "order",
}
NAMES = {**OF_JOB, **OF_SHOP}


def of_job(shop: "Shop", name: str, number: int, *, issue: str | None = None) -> Made:
    """A job's paper. ``issue`` is the certificate's. Raises NotFound, Refused, BadInput."""
    if name == "certificate":
        return _certificate(shop, number, issue)
    if name in ("tag", "pressure-tag", "tags"):
        return _tags(shop, name, number)
    return _made(_OF_JOB[name](shop, number))


def of_shop(shop: "Shop", name: str, about: str = "") -> Made:
    """A paper of the shop: ``about`` is the order's number, or what the bins of a count begin
    with. Raises NotFound."""
    return _made(_OF_SHOP[name](shop, about))


def _made(paper: Paper) -> Made:
    return Made(paper.name, page.text(paper), lambda letter: page.pdf(paper, letter=letter))


def _certificate(shop: "Shop", number: int, issue: str | None) -> Made:
    from shopdesk.paper import certificate
    from shopdesk.views import certificates

    with shop.read() as db:
        return _made(certificate.laid(certificates.certificate(db, number, shop.clock(), issue)))


def _sheet(shop: "Shop", number: int) -> "SheetView":
    from shopdesk.views import sheets

    with shop.read() as db:
        return sheets.load(db, number, shop.clock())


def _tags(shop: "Shop", name: str, number: int) -> Made:
    from shopdesk.paper import tags

    view, job = _sheet(shop, number), f"J-{number}"
    unit, state = tags.unit_text(view.heading), tags.pressure_text(view)
    if name == "tag":
        return Made(f"{job}-tag", unit, lambda letter: tags.unit_tag(view.heading, letter=letter))
    if name == "pressure-tag":
        return Made(f"{job}-pressure", state, lambda letter: tags.pressure_tag(view, letter=letter))
    return Made(f"{job}-tag", f"{unit}\n{state}", lambda letter: tags.both(view, letter=letter))


def _job_sheet(shop: "Shop", number: int) -> Paper:
    from shopdesk.paper import job_sheet

    return job_sheet.laid(_sheet(shop, number), shop.clock())


def _quote(shop: "Shop", number: int) -> Paper:
    from shopdesk.paper import quote
    from shopdesk.views import quotes

    view = _sheet(shop, number)
    with shop.read() as db:
        found = quotes.latest(db, number)
    if found is None:
        raise NotFound(f"J-{number} has no quote yet; the office makes it: F5, Q")
    return quote.laid(view, found)


def _pick_list(shop: "Shop", number: int) -> Paper:
    from shopdesk.paper import pick_list
    from shopdesk.views import picking

    with shop.read() as db:
        return pick_list.laid(picking.pick_list(db, number, shop.clock()))


def _slip(shop: "Shop", number: int) -> Paper:
    from shopdesk.paper import slip
    from shopdesk.views import slips

    with shop.read() as db:
        return slip.laid(slips.slip(db, number, shop.clock()))


def _handover(shop: "Shop", about: str) -> Paper:
    from shopdesk.paper import handover as sheet
    from shopdesk.views import handover

    with shop.read() as db:
        return sheet.laid(handover.handover(db, shop.clock()))


def _count_sheet(shop: "Shop", about: str) -> Paper:
    from shopdesk.paper import count_sheet
    from shopdesk.views import counting

    with shop.read() as db:
        return count_sheet.laid(counting.count_sheet(db, about, shop.clock()))


def _count_due(shop: "Shop", about: str) -> Paper:
    from shopdesk.paper import count_sheet
    from shopdesk.views import counting

    with shop.read() as db:
        return count_sheet.laid(counting.due_sheet(db, shop.clock()))


def _order(shop: "Shop", about: str) -> Paper:
    from shopdesk.paper import order
    from shopdesk.views import purchases

    if not (about.isascii() and about.isdigit() and len(about) < 10):
        raise NotFound(f"read {about[:30]!r}; an order is named by its purchase's number")
    with shop.read() as db:
        return order.laid(purchases.order(db, int(about)))


_OF_JOB: dict[str, Callable[["Shop", int], Paper]] = {
    "job-sheet": _job_sheet,
    "quote": _quote,
    "pick-list": _pick_list,
    "packing-slip": _slip,
}
_OF_SHOP: dict[str, Callable[["Shop", str], Paper]] = {
    "handover": _handover,
    "count-sheet": _count_sheet,
    "count-due": _count_due,
    "order": _order,
}
