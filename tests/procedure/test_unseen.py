"""A procedure nobody has seen before, written here and nowhere else, loads as it is."""

from shopdesk.procedure import Condition, Fit, Is, Restore, Torque, loads

# An invented weighing damper: three cells round a hub, charged before it is proved.
UNSEEN = """
format = 1
model = "WD-77"
name = "Weighing damper, three cells"
revision = "first"
effective = 2026-05-30
changed = "New"
gas_charged = true
order = ["receipt", "vent", "teardown", "decision", "parts", "build", "charge", "hold",
    "proof", "release", "shipment"]
highest_service_temperature = "104 F"

[rated_pressure]
value = "9 MPa"
source = "invented sheet 40"
revision = "1"
[precharge_limit]
value = "2.4 MPa"
source = "invented sheet 40"
revision = "1"

[gas_charge]
gas = "nitrogen"
target = "1.8 MPa"
reference = "15 C"
tolerance = "4 %"
volume = "0.09 L"
before_proof = true
source = "invented sheet 40"
revision = "1"

[[kit]]
id = "ring_{position}"
part = "WD-R1"
quantity = 2
policy = "always"
positions = ["cell 1", "cell 2", "cell 3"]
[[kit]]
id = "hub"
part = "WD-H"
quantity = 1
policy = "keep"
inspect = "teardown.hub"
[[kit]]
id = "spare_hub_pin"
part = "WD-HP"
quantity = 1
policy = "condition"
when = { line = "teardown.hub", disposition = "replace" }

[[vent]]
kind = "group"
key = "cell"
positions = ["cell 1", "cell 2", "cell 3"]
[[vent.lines]]
key = "down"
kind = "vent"
side = "gas"
text = "Let down {position}"
[[vent.lines]]
key = "zero"
kind = "reading"
text = "Zero at {position}"
unit = "kPa"
limit = { low = "-5 kPa", high = "5 kPa", source = "invented sheet 1", revision = "1" }

[[vent]]
key = "other_eyes"
kind = "signature"
text = "Seen by another"
witness = true

[[teardown]]
key = "hub"
kind = "finding"
text = "Hub"
part = "hub"
defects = ["cracked"]
dispositions = ["reuse", "replace"]
[[teardown]]
kind = "group"
key = "cell"
positions = ["cell 1", "cell 2", "cell 3"]
[[teardown.lines]]
key = "stop"
kind = "reading"
text = "Stop depth of {position}"
unit = "mm"

[[build]]
key = "pin"
kind = "fit"
text = "New pin into the new hub"
kit = "spare_hub_pin"
when = { line = "teardown.hub", disposition = "replace" }
[[build]]
key = "hub"
kind = "fit"
text = "Hub"
kit = "hub"
[[build]]
kind = "group"
key = "cell"
positions = ["cell 1", "cell 2", "cell 3"]
[[build.lines]]
key = "ring"
kind = "fit"
text = "Rings of {position}"
kit = "ring_{position}"
order = 1
[[build.lines]]
key = "stop"
kind = "restore"
text = "Stop of {position} where it was"
reference = "teardown.cell.{position}.stop"
tolerance = "0.2 mm"
set_by_test = "proof.balance"
source = "invented sheet 40"
revision = "1"
[[build.lines]]
key = "nut"
kind = "torque"
text = "Nut of {position}"
target = "7 Nm"
tolerance = "0.4 Nm"
source = "invented sheet 41"
revision = "1"
when = [
  { line = "build.cell.{position}.ring", is = "answered" },
  { line = "build.cell.{position}.stop", is = "within" },
]

[[charge]]
key = "set"
kind = "regulator"
text = "Set"
[[charge]]
key = "read"
kind = "charge"
text = "Read"
[[hold]]
key = "night"
kind = "leak"
text = "After a night"
start = "charge.read"
loss = "20 kPa"
source = "invented sheet 40"
revision = "1"
[[proof]]
key = "balance"
kind = "test"
text = "Force to lift"
unit = "N"
limit = { target = "610 N", within = "2 %", source = "invented sheet 42", revision = "1" }
rework_from = "build"
[[release]]
key = "name"
kind = "signature"
text = "Released"
"""


def test_it_loads_in_its_own_order() -> None:
    procedure = loads(UNSEEN, name="wd-77.toml")
    sections = list(dict.fromkeys(line.section for line in procedure.lines))
    assert sections == ["vent", "teardown", "build", "charge", "hold", "proof", "release"]
    assert procedure.order.index("charge") < procedure.order.index("proof")
    assert procedure.charge is not None
    assert procedure.charge.before_proof
    assert len(procedure.lines) == 7 + 4 + 11 + 2 + 1 + 1 + 1


def test_its_groups_refer_within_their_position_and_across_sections() -> None:
    procedure = loads(UNSEEN, name="wd-77.toml")
    stop = procedure.line("build.cell.cell_2.stop")
    ring = procedure.line("build.cell.cell_2.ring")
    nut = procedure.line("build.cell.cell_2.nut")
    assert isinstance(stop, Restore)
    assert isinstance(ring, Fit)
    assert isinstance(nut, Torque)
    assert stop.reference == "teardown.cell.cell_2.stop"
    assert ring.kit == "ring_cell_2"
    assert nut.text == "Nut of cell 2"
    assert nut.when == (
        Condition("build.cell.cell_2.ring", is_=Is.ANSWERED),
        Condition("build.cell.cell_2.stop", is_=Is.WITHIN),
    )


def test_its_figures_are_read() -> None:
    procedure = loads(UNSEEN, name="wd-77.toml")
    assert procedure.charge is not None
    assert procedure.highest_service_temperature is not None
    assert round(procedure.charge.target.value_si) == 1_800_000
    assert round(procedure.charge.tolerance.value_si) == 72_000
    assert round(procedure.highest_service_temperature.value_si, 6) == 313.15  # 104 F is 40 C
    assert [kit.id for kit in procedure.kit[:3]] == ["ring_cell_1", "ring_cell_2", "ring_cell_3"]
