"""A neutral document of no unit at all, to which one fact of the trade is added at a time."""

from typing import Any

from shopdesk.procedure import Line, Procedure
from shopdesk.procedure.loading import check_tables

IN_LB_NM = 1.129848e-1
FT_LB_NM = 1.355818
PSI_PA = 6.894757e3
DRAWING: dict[str, Any] = {"source": "common practice, no source", "revision": "none"}


def neutral() -> dict[str, Any]:
    return {
        "format": 1,
        "model": "NONE",
        "name": "Document of no unit",
        "revision": "0",
        "effective": "2026-01-01",
        "changed": "For one check",
        "gas_charged": False,
        "release": [{"key": "signed", "kind": "signature", "text": "Released"}],
    }


def read(**more: Any) -> Procedure:
    found = check_tables(neutral() | more, name="none.toml")
    assert found.problems == ()
    assert found.procedure is not None
    return found.procedure


def one(section: str, line: dict[str, Any], **more: Any) -> Line:
    line = {"key": "one", "text": "One line"} | line
    return read(**{section: [line]}, **more).line(f"{section}.one")


def charged(limit: str) -> dict[str, Any]:
    """A charge to 1500 psi with the smallest vent and charge sections there can be."""
    signed = {"kind": "signature", "text": "Signed"}
    zero = {"high": "2 psi"} | DRAWING
    return {
        "gas_charged": True,
        "precharge_limit": {"value": limit} | DRAWING,
        "gas_charge": {
            "gas": "nitrogen",
            "target": "1500 psi",
            "reference": "70 F",
            "tolerance": "25 psi",
            "volume": "10 cu in",
        }
        | DRAWING,
        "vent": [
            {"key": "gas", "kind": "vent", "text": "Gas", "side": "gas"},
            {"key": "zero", "kind": "reading", "text": "Zero", "unit": "psi", "limit": zero},
            {"key": "seen", "witness": True, **signed},
        ],
        "proof": [{"key": "done", "kind": "tick", "text": "Proved"}],
        "charge": [
            {"key": "set", "kind": "regulator", "text": "Set above the target", "units": ["psi"]},
            {"key": "settle", "kind": "wait", "text": "Settle", "duration": "5 s"},
            {"key": "back", "kind": "charge", "text": "Rig off, read back", "units": ["psi"]},
        ],
    }
