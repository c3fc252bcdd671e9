"""Facts of the trade, each expressed on its own: common practice, no source.

They are separate on purpose: every check adds one line to a neutral document of no unit at all.
Conversion factors: NIST SP 811 (2008), appendix B.8.
"""

import pytest

from shopdesk.procedure import (
    Choice,
    Condition,
    Finding,
    Fit,
    Reading,
    Repeat,
    Restore,
    Torque,
    Wait,
)
from shopdesk.procedure.loading import check_tables

from .trade import DRAWING, FT_LB_NM, IN_LB_NM, PSI_PA, charged, neutral, one, read


@pytest.mark.parametrize(
    ("target", "torque_nm", "joint"),
    [
        ("25 in-lb", 25 * IN_LB_NM, "hollow set screw"),
        ("100 in-lb", 100 * IN_LB_NM, "gas fill valve"),
        ("12 ft-lb", 12 * FT_LB_NM, "block screw"),
        ("25 ft-lb", 25 * FT_LB_NM, "adapter"),
        ("30 ft-lb", 30 * FT_LB_NM, "plug"),
        ("55 ft-lb", 55 * FT_LB_NM, "gland"),
    ],
)
def test_a_joint_is_pulled_to_its_torque(target: str, torque_nm: float, joint: str) -> None:
    # Common practice, no source.
    line = one(
        "build", {"kind": "torque", "text": joint, "target": target, "tolerance": "5 %"} | DRAWING
    )
    assert isinstance(line, Torque)
    assert line.target is not None
    assert line.tolerance is not None
    assert line.target.value_si == pytest.approx(torque_nm, rel=1e-6)
    assert line.tolerance.value_si == pytest.approx(0.05 * torque_nm, rel=1e-6)
    assert line.unit == target.split(" ")[1]


def test_a_check_valve_is_pulled_by_spanner() -> None:
    # Common practice, no source: 24 in-lb, by a spanner end on the wrench.
    line = one(
        "build",
        {
            "kind": "torque",
            "target": "24 in-lb",
            "tolerance": "2 in-lb",
            "bit": "spanner",
            "adapter": {"length": "2 in", "angle": "90 deg", "wrench_length": "10 in"},
        }
        | DRAWING,
    )
    assert isinstance(line, Torque)
    assert line.target is not None
    assert line.adapter is not None
    assert line.target.value_si == pytest.approx(24 * IN_LB_NM, rel=1e-6)
    assert line.adapter.length.value_si == pytest.approx(0.0508)  # 2 in, exact


def test_a_joint_may_be_snug_without_a_number() -> None:
    # Common practice, no source.
    line = one("build", {"kind": "torque", "snug": True})
    assert isinstance(line, Torque)
    assert line.snug
    assert line.target is None


@pytest.mark.parametrize("dash", ["-012", "-018", "-906", "-908"])
def test_a_ring_is_fitted_by_its_dash_size(dash: str) -> None:
    # Common practice, no source; dash sizes of SAE AS568.
    kit = [{"id": "ring", "part": f"O-ring {dash}", "quantity": 1, "policy": "always"}]
    fit = {"kind": "fit", "kit": "ring", "lubricant": "the fluid it will see", "order": 1}
    line = one("build", fit, kit=kit)
    assert isinstance(line, Fit)
    procedure = read(build=[{"key": "one", "text": "Ring", **fit}], kit=kit)
    assert procedure.kit[0].part.endswith(dash)


@pytest.mark.parametrize("size", [25, 178])
def test_a_filter_is_stated_in_micron(size: int) -> None:
    # Common practice, no source.
    limit = {"high": f"{size} micron"} | DRAWING
    line = one("build", {"kind": "reading", "unit": "micron", "limit": limit})
    assert isinstance(line, Reading)
    assert line.limit is not None
    assert line.limit.high is not None
    assert line.limit.high.value_si == pytest.approx(size * 1e-6)


def test_a_relief_screw_goes_back_to_the_depth_it_had() -> None:
    # Common practice, no source.
    procedure = read(
        teardown=[
            {"key": "depth", "kind": "repeat", "text": "Depth", "unit": "in", "count": 3,
             "spread": "3 thou"}
        ],
        build=[
            {"key": "depth", "kind": "restore", "text": "Depth again", "tolerance": "5 thou",
             "reference": "teardown.depth", "set_by_test": "proof.opens"} | DRAWING
        ],
        proof=[
            {"key": "opens", "kind": "test", "text": "Opens", "unit": "psi",
             "limit": {"high": "2000 psi"} | DRAWING}
        ],
    )  # fmt: skip
    measured, restored = procedure.line("teardown.depth"), procedure.line("build.depth")
    assert isinstance(measured, Repeat)
    assert isinstance(restored, Restore)
    assert restored.reference == measured.key
    assert restored.tolerance.value_si == pytest.approx(5 * 2.54e-5)


def test_the_gas_settles_a_few_seconds() -> None:
    # Common practice, no source.
    line = one("build", {"kind": "wait", "duration": "5 s"})
    assert isinstance(line, Wait)
    assert line.duration.value_si == 5.0


def test_the_regulator_may_stand_above_the_target() -> None:
    # Common practice, no source: 1800 psi on the regulator for a charge of 1500 psi, since gas is
    # lost with the rig. The precharge limit binds the target, not the setting.
    procedure = read(**charged("1600 psi"))
    assert procedure.charge is not None
    assert procedure.precharge_limit is not None
    assert procedure.charge.target.value_si == pytest.approx(1500 * PSI_PA, rel=1e-6)
    assert procedure.precharge_limit.value.value_si < 1800 * PSI_PA
    refused = check_tables(neutral() | charged("1400 psi"), name="none.toml")
    assert "gas_charge.target: read '1500 psi'" in refused.problems[0]


def test_a_bore_scored_on_the_gas_side_ends_the_repair() -> None:
    # Common practice, no source.
    procedure = read(
        teardown=[
            {
                "key": "bore",
                "kind": "finding",
                "text": "Bore, gas side",
                "part": "barrel",
                "defects": ["scored", "pitted"],
                "dispositions": ["scrap"],
            }
        ],
        build=[
            {
                "key": "start",
                "kind": "choice",
                "text": "Barrel to the bench",
                "options": ["yes", "no"],
                "when": {"line": "teardown.bore", "answer": "good"},
            }
        ],
    )
    bore, start = procedure.line("teardown.bore"), procedure.line("build.start")
    assert isinstance(bore, Finding)
    assert isinstance(start, Choice)
    assert bore.dispositions == ("scrap",)
    assert start.when == (Condition("teardown.bore", answer="good"),)
