"""A procedure written from a few answers checks, and holds what keeps people whole."""

from dataclasses import replace
from datetime import date

import pytest

from shopdesk import procedure
from shopdesk.procedure import types as doc
from shopdesk.procedure.writing import Bench, Gas, Joint, Measure, Part, Plan, Port, Stands, text
from shopdesk.rules.generated import laid_out

PLAIN = Plan(
    model="QX-3",
    name="Clamp cylinder",
    rated="160 bar",
    stands=Stands("drawing QX-3-01", "B"),
    bench=Bench("160 bar", "5 min", (Measure("start of the rod", "bar", "", "4 bar"),)),
    on=date(2026, 3, 2),
    ports=(Port("port A"), Port("port B", "capped")),
    parts=(Part("QX-S", "rod seal", 2, how="lips to the oil"), Part("QX-R", "rod", kept=True)),
    readings=(Measure("rod diameter", "mm", "21.98 mm", "22.00 mm", "caliper", part="QX-R"),),
    joints=(
        Joint("Gland into the tube", "90 N·m", "8 %"),
        Joint("Gland into the tube", "65 in-lb"),
    ),
    minutes=(("teardown", 25), ("build", 30)),
)
GAS = Gas("90 bar", "70 bar", "0.16 L")
CHARGED = replace(PLAIN, gas=GAS)
FIRST = replace(PLAIN, gas=replace(GAS, before_proof=True, scanned=()))
ODD = 'Zylinder "Größe 3" \\ 油缸'
NAMED = replace(CHARGED, name=ODD, parts=(Part("Ö-1", ODD), Part("Ö-2", "油"), Part("Ö-3", "缸")))


@pytest.mark.parametrize("plan", [PLAIN, CHARGED, FIRST, NAMED])
def test_what_is_written_checks_without_a_doubt(plan: Plan) -> None:
    report = procedure.check_text(text(plan), name="new.toml")
    assert report.problems == ()
    assert report.warnings == ()
    assert report.procedure is not None
    assert report.procedure.name == plan.name


def test_every_figure_that_was_asked_stands_in_it() -> None:
    found = procedure.loads(text(CHARGED), name="new.toml")
    assert [(kit.part, kit.quantity, kit.policy.value) for kit in found.kit] == [
        ("QX-S", 2, "always"),
        ("QX-R", 1, "keep"),
    ]
    joints = [line for line in found.in_section("build") if isinstance(line, doc.Torque)]
    assert [(each.target and each.target.typed, each.source) for each in joints] == [
        ("90 N·m", "drawing QX-3-01"),
        ("65 in-lb", "drawing QX-3-01"),
    ]
    read = found.line("teardown.rod_diameter")
    assert isinstance(read, doc.Reading)
    assert read.limit is not None
    assert (read.limit.low and read.limit.low.typed, read.limit.revision) == ("21.98 mm", "B")
    ports = [line for line in found.in_section("shipment") if isinstance(line, doc.Port)]
    assert [(port.port, port.leave) for port in ports] == [
        ("port A", "plugged"),
        ("port B", "capped"),
        ("gas valve", "capped"),
    ]


@pytest.mark.parametrize("plan", [CHARGED, FIRST])
def test_a_gas_unit_is_let_down_and_charged_in_the_safe_order(plan: Plan) -> None:
    """Oil before gas, zero proved, held and read again, a second person at the end; then bottle,
    rig, setting, settling, reading back, in this order (usual cautions, common practice)."""
    found = procedure.loads(text(plan), name="new.toml")
    vent = found.in_section("vent")
    sides = [line.side for line in vent if isinstance(line, doc.Vent)]
    assert sides == ["oil", "gas"]
    assert isinstance(vent[-1], doc.Signature)
    assert vent[-1].witness
    kinds = [type(line) for line in vent]
    assert kinds.index(doc.Wait) > max(n for n, kind in enumerate(kinds) if kind is doc.Vent)
    assert isinstance(vent[kinds.index(doc.Wait) + 1], doc.Reading)
    charge = [line.key.removeprefix("charge.") for line in found.in_section("charge")]
    wanted = [
        "bottle",
        "rig",
        "port_a",
        "port_b",
        "setting",
        "fill",
        "settle",
        "rig_off",
        "read_back",
    ]
    assert [key for key in charge if key in wanted] == wanted
    assert all(line.caution for line in vent if isinstance(line, doc.Vent))
    order = found.order
    assert (order.index("charge") < order.index("proof")) is (plan is FIRST)
    assert [type(line) for line in found.in_section("hold")] == [doc.Wait, doc.Leak]


def test_a_reading_asks_for_a_new_part_as_the_finding_does() -> None:
    found = procedure.loads(text(PLAIN), name="new.toml")
    asked = next(line for line in laid_out(found) if line.key == "parts.issue_rod")
    assert asked.when == (
        doc.AnyOf("teardown.rod", disposition="replace", others=("teardown.rod_diameter",)),
    )
    read = found.line("teardown.rod_diameter")
    assert isinstance(read, doc.Reading)
    assert "replace" in read.dispositions
    alone = replace(PLAIN, readings=(replace(PLAIN.readings[0], part=""),))
    read = procedure.loads(text(alone), name="new.toml").line("teardown.rod_diameter")
    assert isinstance(read, doc.Reading)
    assert "replace" not in read.dispositions  # no part would come of it
