"""Facts of the trade as the sheet judges them, each on its own: common practice, no source.

They are expressed in ``tests/procedure/test_trade.py``; here somebody types what was read. No two
of them belong to one unit. Factors of units by NIST SP 811 (2008), appendix B.8.
"""

from typing import Any

import pytest

from shopdesk import quantities
from shopdesk.calc import seals
from shopdesk.procedure import Procedure
from shopdesk.rules import charging, gates, verdicts
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.sheet import Sheet, State, lay_out
from shopdesk.rules.shop import ShopRules
from shopdesk.rules.verdicts import Judged
from tests.procedure.trade import DRAWING, FT_LB_NM, IN_LB_NM, PSI_PA, charged, read
from tests.rules.conftest import answer, facts

ROOM_K = 294.2611111  # 70 °F


def laid(document: Procedure, rules: ShopRules, *answers: Answer) -> Sheet:
    return lay_out(document, {}, rules, facts(), answers)


def typed(
    document: Procedure, rules: ShopRules, key: str, text: str, *before: Answer, slot: str = ""
) -> tuple[Judged, str | None]:
    """What the sheet says of a text typed into a line's next slot: verdict and slip question."""
    sheet = laid(document, rules, *before)
    state = sheet.get(key)
    assert state is not None
    asked = next(s for s in state.slots if (s.name == slot if slot else s.name not in state.given))
    value = quantities.parse(text, unit=asked.unit, units=asked.units).value_si
    here = {**state.given, asked.name: answer(99, key, asked.name, text, value)}
    judged = verdicts.judge(sheet, state.line, asked, here, value, text)
    return judged, verdicts.slip_question(sheet, state.line, asked, value)


def torque(target: str, **more: Any) -> Procedure:
    line = {"key": "one", "kind": "torque", "text": "One joint", "target": target,
            "tolerance": "5 %"}  # fmt: skip
    return read(build=[line | DRAWING | more])


@pytest.mark.parametrize(
    ("target", "factor"),
    [
        ("25 in-lb", IN_LB_NM),  # hollow set screw
        ("100 in-lb", IN_LB_NM),  # gas fill valve
        ("12 ft-lb", FT_LB_NM),  # block screw
        ("25 ft-lb", FT_LB_NM),  # adapter
        ("30 ft-lb", FT_LB_NM),  # plug
        ("55 ft-lb", FT_LB_NM),  # gland
    ],
)
def test_a_joint_is_judged_by_its_torque(rules: ShopRules, target: str, factor: float) -> None:
    number, unit = target.split(" ")
    document = torque(target)
    for share, verdict in ((1.0, "within"), (1.04, "within"), (1.06, "outside"), (0.9, "outside")):
        judged, slip = typed(document, rules, "build.one", f"{float(number) * share:.4f} {unit}")
        assert (judged.verdict, slip) == (Verdict(verdict), None)
        assert f"{target} ± 5 %" in judged.limit_text
    in_metric, _ = typed(document, rules, "build.one", f"{float(number) * factor:.4f} Nm")
    assert in_metric.verdict is Verdict.WITHIN
    other = "ft-lb" if unit == "in-lb" else "in-lb"
    judged, slip = typed(document, rules, "build.one", f"{number} {other}")
    assert judged.verdict is Verdict.OUTSIDE
    assert slip is not None
    assert f"{float(number):.1f} {unit}" in slip
    assert "Was it really pulled" in slip


def test_a_check_valve_by_spanner_is_judged_at_the_joint(rules: ShopRules) -> None:
    """24 in-lb; a spanner straight on lowers the setting to 24 × 10/12 = 20, across it changes
    nothing."""
    adapter = {"length": "2 in", "wrench_length": "10 in"}
    across = torque("24 in-lb", bit="spanner", adapter=adapter | {"angle": "90 deg"})
    along = torque("24 in-lb", bit="spanner", adapter=adapter | {"angle": "0 deg"})
    for document, shows in ((across, "24.0 in-lb"), (along, "20.0 in-lb")):
        judged, _ = typed(document, rules, "build.one", "24 in-lb")
        assert judged.verdict is Verdict.WITHIN
        assert f"the wrench shows {shows}" in judged.note


@pytest.mark.parametrize("dash", ["-012", "-018", "-906", "-908"])
def test_a_ring_is_not_fitted_before_its_piece_is_issued(rules: ShopRules, dash: str) -> None:
    """The ring is one AS568 has; its line on the sheet asks for one piece, and comes first."""
    assert seals.ring(dash).name == f"AS568{dash}"
    document = read(
        kit=[{"id": "ring", "part": f"O-ring {dash}", "quantity": 1, "policy": "always"}],
        build=[{"key": "one", "kind": "fit", "text": "Ring", "kit": "ring", "lubricant": "the "
                "fluid it will see", "order": 1}],
    )  # fmt: skip
    sheet = laid(document, rules)
    (issue,) = (state for state in sheet.lines if dash in state.line.text)
    assert issue.state is State.OPEN
    refused = gates.closed_line(sheet, "build.one")
    assert refused is not None
    assert issue.line.key in refused.missing


@pytest.mark.parametrize("size", [25, 178])
def test_a_filter_is_judged_in_micron(rules: ShopRules, size: int) -> None:
    limit = {"high": f"{size} micron"} | DRAWING
    document = read(
        build=[{"key": "one", "kind": "reading", "text": "Mesh", "unit": "micron", "limit": limit}]
    )
    finer, _ = typed(document, rules, "build.one", f"{size} micron")
    coarser, _ = typed(document, rules, "build.one", f"{size + 1} um")
    assert (finer.verdict, coarser.verdict) == (Verdict.WITHIN, Verdict.OUTSIDE)


@pytest.mark.parametrize(
    ("back", "verdict"), [("0.254 in", "within"), ("0.249 in", "within"), ("0.246 in", "outside")]
)
def test_a_relief_screw_is_judged_by_the_depth_it_had(
    rules: ShopRules, back: str, verdict: str
) -> None:
    """Three readings whose mean is 0.252 in; five thousandths either way."""
    document = read(
        teardown=[{"key": "depth", "kind": "repeat", "text": "Depth", "unit": "in", "count": 3,
                   "spread": "3 thou"}],
        build=[{"key": "depth", "kind": "restore", "text": "Depth again", "tolerance": "5 thou",
                "reference": "teardown.depth", "set_by_test": "proof.opens"} | DRAWING],
        proof=[{"key": "opens", "kind": "test", "text": "Opens", "unit": "psi",
                "limit": {"high": "2000 psi"} | DRAWING}],
    )  # fmt: skip
    measured = [
        answer(n, "teardown.depth", f"r{n}", f"{inch} in", inch * 0.0254)
        for n, inch in enumerate((0.251, 0.252, 0.253), 1)
    ]
    judged, _ = typed(document, rules, "build.depth", back, *measured)
    assert judged.verdict is Verdict(verdict)
    assert judged.limit_text == "0.252 in ± 5 thou"


def charge_document(limit: str = "1600 psi") -> Procedure:
    rated = {"value": "3000 psi"} | DRAWING
    return read(**charged(limit), rated_pressure=rated, highest_service_temperature="140 F")


def test_the_regulator_is_advised_above_the_target_and_the_charge_judged_by_it(
    rules: ShopRules,
) -> None:
    """1800 psi on the regulator for 1500 psi: what such fills lost before; the charge itself is
    held to the target."""
    document = charge_document()
    assert document.charge is not None
    lost = [300 * PSI_PA] * rules.overset.enough
    advice = charging.advise(document.charge, rules, document.charge.reference.value_si, lost)
    assert advice.learned
    assert advice.setting_pa == pytest.approx(1800 * PSI_PA, rel=1e-6)
    assert charging.setting_refused(document, rules, 1800 * PSI_PA, {}) is None
    assert charging.setting_refused(document, rules, 3001 * PSI_PA, {}) is not None
    for psi, verdict in ((1500, "within"), (1524, "within"), (1530, "outside"), (1800, "outside")):
        at_70 = answer(1, "charge.back", "temperature", "70 F", ROOM_K)
        judged, _ = typed(document, rules, "charge.back", f"{psi} psi", at_70, slot="value")
        assert judged.verdict is Verdict(verdict)
    assert "above the precharge limit" in judged.note


def test_a_warmer_gas_may_read_higher(rules: ShopRules) -> None:
    """100 °F where 70 °F is the reference: near 6 % in absolute temperature."""
    warm = answer(1, "charge.back", "temperature", "100 F", ROOM_K + 30 / 1.8)
    hot, _ = typed(charge_document(), rules, "charge.back", "1595 psi", warm, slot="value")
    cold, _ = typed(charge_document(), rules, "charge.back", "1500 psi", warm, slot="value")
    assert (hot.verdict, cold.verdict) == (Verdict.WITHIN, Verdict.OUTSIDE)


def test_the_supply_is_closed_after_the_gas_has_settled(rules: ShopRules) -> None:
    """A few seconds: the line after the wait is refused while it runs."""
    document = read(
        build=[
            {"key": "settle", "kind": "wait", "text": "Gas settles", "duration": "5 s"},
            {"key": "close", "kind": "tick", "text": "Supply valve closed"},
        ]
    )
    refused = gates.closed_line(laid(document, rules), "build.close")
    assert refused is not None
    assert refused.missing == ("build.settle",)


@pytest.mark.parametrize("defect", ["scored", "pitted"])
def test_a_bore_bad_on_the_gas_side_ends_the_repair(rules: ShopRules, defect: str) -> None:
    """The only disposition is scrap, which lets no line pass and no build begin."""
    document = read(
        teardown=[{"key": "bore", "kind": "finding", "text": "Bore, gas side", "part": "barrel",
                   "defects": ["scored", "pitted"], "dispositions": ["scrap"]}],
        build=[{"key": "start", "kind": "choice", "text": "Barrel to the bench", "options":
                ["yes", "no"], "when": {"line": "teardown.bore", "answer": "good"}}],
    )  # fmt: skip
    found = answer(1, "teardown.bore", "condition", defect, None, Verdict.OUTSIDE)
    state = laid(document, rules, found).get("teardown.bore")
    assert state is not None
    slot = next(slot for slot in state.slots if slot.name == "condition")
    judged = verdicts.judge(laid(document, rules), state.line, slot, {}, None, defect)
    assert judged.verdict is Verdict.OUTSIDE
    (disposition,) = (slot for slot in state.slots if slot.name == "disposition")
    assert disposition.options == ("scrap",)
    ended = laid(document, rules, found, answer(2, "teardown.bore", "disposition", "scrap"))
    bore, start = ended.get("teardown.bore"), ended.get("build.start")
    assert bore is not None
    assert start is not None
    assert bore.state is not State.DONE
    assert start.state is State.NOT_ASKED
