"""The gas procedure of the desk's tests, and a sheet of it from answers alone."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from shopdesk import procedure
from shopdesk.procedure import Line, Procedure
from shopdesk.rules import sheet as sheets
from shopdesk.rules import shop as shop_rules
from shopdesk.rules.answers import SIDE_ROADS, Answer, GasState, JobFacts, Road, Verdict
from shopdesk.rules.sheet import Sheet
from shopdesk.rules.shop import ShopRules
from tests.desk.stocked import DATA

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

Laid = Callable[..., Sheet]


def facts(**given: object) -> JobFacts:
    base: dict[str, object] = {
        "id": 1,
        "number": 1001,
        "kind": "warranty",
        "road": Road.REPAIR,
        "gas_state": GasState.UNKNOWN,
        "now": NOW,
    }
    return JobFacts(**{**base, **given})  # type: ignore[arg-type]


def answer(
    id: int,  # noqa: A002 (the answer's own name for it)
    line: str,
    slot: str,
    said: str,
    value: float | None = None,
    verdict: Verdict = Verdict.NONE,
    person: str = "TT",
    **more: object,
) -> Answer:
    return Answer(
        id,
        line,
        slot,
        said,
        said,
        verdict,
        person,
        NOW + timedelta(seconds=id),
        value,
        **more,  # type: ignore[arg-type]
    )


@pytest.fixture(scope="session")
def gas() -> Procedure:
    return procedure.loads((DATA / "gas.toml").read_text(), name="gas.toml")


@pytest.fixture(scope="session")
def rules() -> ShopRules:
    return shop_rules.read((DATA / "shop.toml").read_text())


@pytest.fixture(scope="session")
def roads() -> dict[str, tuple[Line, ...]]:
    text = (DATA / "roads.toml").read_text()
    return dict(procedure.side_roads(text, name="roads.toml", roads=SIDE_ROADS))


@pytest.fixture
def laid(gas: Procedure, rules: ShopRules, roads: dict[str, tuple[Line, ...]]) -> Laid:
    """Lays the sheet out: laid(answer, answer, …, gas_state=…)."""

    def made(*answers: Answer, **given: object) -> Sheet:
        return sheets.lay_out(gas, roads, rules, facts(**given), answers)

    return made
