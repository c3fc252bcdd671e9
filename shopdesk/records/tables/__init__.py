"""The mapped classes, one file per part of the shop.

A file is loaded when a class of it is first named: the first list needs few of them, and somebody
waits for it.
"""

from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

from shopdesk.records.tables.base import canonical

if TYPE_CHECKING:
    from shopdesk.records.tables.base import Base
    from shopdesk.records.tables.gas import ChargeResult, GasMove
    from shopdesk.records.tables.jobs import (
        Claim,
        Concession,
        CoreDeposit,
        Draft,
        Entry,
        Forecast,
        Job,
        Reopening,
        Shipment,
        Unit,
        UnitModel,
        WorkOrder,
    )
    from shopdesk.records.tables.procedures import (
        ProcedureApproval,
        ProcedureMove,
        ProcedureRevision,
    )
    from shopdesk.records.tables.shop import (
        Bottle,
        Calibration,
        Customer,
        Instrument,
        Person,
        ShopDocument,
        Supplier,
    )
    from shopdesk.records.tables.stores import (
        Interchange,
        InterchangeAnswer,
        Lot,
        Part,
        PartSupplier,
        PriceBreak,
        Purchase,
        PurchaseLine,
        SetRow,
        StockCount,
        StockMove,
    )
    from shopdesk.records.tables.trade import (
        Approval,
        ColumnMap,
        CoreGrade,
        JobCost,
        Quote,
        QuoteLine,
    )
    from shopdesk.records.tables.trail import ChainHead, Event

_FILES = ("shop", "jobs", "trade", "trail", "stores", "gas", "procedures")
"""In the order in which they are looked through: what the first list needs first."""


def __getattr__(name: str) -> Any:
    if name == "Base":  # with every table in its metadata
        for file in _FILES:
            _file(file)
        return _file("base").Base
    if not name.startswith("_"):
        for file in _FILES:
            found = getattr(_file(file), name, None)
            if found is not None:
                return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def _file(name: str) -> ModuleType:
    return import_module(f"{__name__}.{name}")


def set_up() -> None:
    """Does at once what the first statement on a mapped class would wait for."""
    from sqlalchemy.orm import configure_mappers

    __getattr__("Base")
    configure_mappers()


__all__ = [
    "Approval",
    "Base",
    "Bottle",
    "Calibration",
    "ChainHead",
    "ChargeResult",
    "Claim",
    "ColumnMap",
    "Concession",
    "CoreDeposit",
    "CoreGrade",
    "Customer",
    "Draft",
    "Entry",
    "Event",
    "Forecast",
    "GasMove",
    "Instrument",
    "Interchange",
    "InterchangeAnswer",
    "Job",
    "JobCost",
    "Lot",
    "Part",
    "PartSupplier",
    "Person",
    "PriceBreak",
    "ProcedureApproval",
    "ProcedureMove",
    "ProcedureRevision",
    "Purchase",
    "PurchaseLine",
    "Quote",
    "QuoteLine",
    "Reopening",
    "SetRow",
    "Shipment",
    "ShopDocument",
    "StockCount",
    "StockMove",
    "Supplier",
    "Unit",
    "UnitModel",
    "WorkOrder",
    "canonical",
    "set_up",
]
