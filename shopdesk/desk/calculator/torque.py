"""Torque at the wrench, and the preload it gives."""

import math

from shopdesk.calc import fasteners, torque
from shopdesk.calc.fasteners import Preload
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind, Value
from shopdesk.desk.calculator.given import Given
from shopdesk.errors import BadInput
from shopdesk.quantities import Measured

NEWTON_METRE = "N·m"
_IN2 = 0.0254**2


def length_field(name: str, help_: str, *, required: bool = True) -> Field:
    return Field(name, Kind.QUANTITY, help_, required, unit="mm", units=("in",), metavar="LENGTH")


def torque_field(name: str, help_: str, *, required: bool = True) -> Field:
    return Field(
        name,
        Kind.QUANTITY,
        help_,
        required,
        unit=NEWTON_METRE,
        units=("in-lb", "ft-lb"),
        metavar="TORQUE",
    )


def _torque(torque_nm: float, beside: Measured | None = None) -> Value:
    others = (beside.unit,) if beside else ("ft-lb", "in-lb")
    return values.quantity(torque_nm, NEWTON_METRE, *others)


def _setting(given: Given) -> Found:
    target = given.measured("target")
    length_m, adapter_m = given.si("length"), given.si("adapter")
    angle_deg = math.degrees(given.si("angle"))
    setting = torque.adapter_setting(target.value_si, length_m, adapter_m, angle_deg)
    return Found(
        {"setting": _torque(setting, target)},
        f"S = T L/(L + E cos θ) = {target.value_si:.6g} N·m × {values.millimetres(length_m)}/("
        f"{values.millimetres(length_m)} + {values.millimetres(adapter_m)} × cos {angle_deg:g}°) = "
        f"{setting:.6g} N·m",
        "US Army TM 9-254; FAA AC 43.13-1B (from memory)",
        (
            "L from the middle of the grip to the drive: hold it there. For a wrench that pivots "
            "in its head; 90° changes nothing.",
        ),
    )


TORQUE = Calculation(
    "torque",
    "Wrench setting with an adapter",
    (
        torque_field("target", "The torque at the fastener."),
        length_field("length", "From the middle of the grip to the drive."),
        length_field("adapter", "From the drive to the fastener."),
        Field(
            "angle",
            Kind.QUANTITY,
            "Between wrench and adapter: 0 lengthens, 180 shortens.",
            False,
            "0°",
            "°",
            metavar="ANGLE",
        ),
    ),
    _setting,
    {"target": "20 ft-lb", "length": "12 in", "adapter": "3 in"},
)


def _joint(given: Given) -> Found:
    setting = given.measured("setting")
    length_m, adapter_m = given.si("length"), given.si("adapter")
    angle_deg = math.degrees(given.si("angle"))
    at_joint = torque.applied_torque(setting.value_si, length_m, adapter_m, angle_deg)
    return Found(
        {"torque": _torque(at_joint, setting)},
        f"T = S (L + E cos θ)/L = {setting.value_si:.6g} N·m × ({values.millimetres(length_m)} + "
        f"{values.millimetres(adapter_m)} × cos {angle_deg:g}°)/{values.millimetres(length_m)} = "
        f"{at_joint:.6g} N·m",
        "US Army TM 9-254; FAA AC 43.13-1B (from memory)",
        ("L from the middle of the grip to the drive, where the hand was.",),
    )


JOINT_TORQUE = Calculation(
    "joint-torque",
    "What a joint got from a wrench with its adapter",
    (
        torque_field("setting", "What the wrench was set to or showed."),
        *TORQUE.inputs[1:],
    ),
    _joint,
    {"setting": "16 ft-lb", "length": "12 in", "adapter": "3 in"},
)


def _convert(given: Given) -> Found:
    read = given.measured("torque")
    return Found(
        {
            each: values.quantity(read.value_si, unit)
            for each, unit in (
                ("newton_metre", NEWTON_METRE),
                ("inch_pound", "in-lb"),
                ("foot_pound", "ft-lb"),
                ("kilogram_centimetre", "kgf·cm"),
            )
        },
        f"{read.typed} = {read.value_si:.6g} N·m",
        "unit factors: NIST SP 811",
    )


TORQUE_UNITS = Calculation(
    "torque-units",
    "A torque in N·m, in-lb, ft-lb and kgf·cm",
    (torque_field("torque", "With its unit."),),
    _convert,
    {"torque": "35 in-lb"},
)


def _preload(given: Given) -> Found:
    name, grade, friction = given.words("thread"), given.words("grade"), given.si("friction")
    if not given.has("torque"):
        found = fasteners.preload(name, grade, given.si("share"), friction)
    elif "share" in given.typed:
        raise BadInput("Both share and torque were given; one follows from the other.")
    else:
        found = fasteners.preload_from_torque(name, grade, given.si("torque"), friction)
    return _loaded(found, friction)


def _loaded(found: Preload, friction: float) -> Found:
    said = []
    if found.share_of_proof > 1.0:
        said.append("Above the proof load: the bolt yields.")
    return Found(
        {
            "preload": values.quantity(found.preload_n, "N", "kN", "lbf"),
            "torque": _torque(found.torque_nm),
            "share_of_proof": values.percent(found.share_of_proof),
            "proof_load": values.quantity(found.proof_load_n, "N", "kN", "lbf"),
            "stress_area": values.plain(
                found.area.area_m2 * 1e6,
                "mm²",
                text=f"{found.area.area_m2 * 1e6:.4g} mm² ({found.area.area_m2 / _IN2:.4g} in²)",
            ),
        },
        f"F = s Sp A = {100 * found.share_of_proof:.4g} % × {found.strength.proof_pa / 1e6:.5g} "
        f"MPa × {found.area.area_m2 * 1e6:.5g} mm² = {found.preload_n:.6g} N; T = K F d = "
        f"{friction:g} × {found.preload_n:.6g} N × {values.millimetres(found.thread.diameter_m)} = "
        f"{found.torque_nm:.5g} N·m",
        f"T = K F d, any machine design text; area of {found.thread.name}: {found.area.source}; "
        f"{found.strength.spec} {found.strength.grade}: {found.strength.source} "
        f"({found.strength.confidence} confidence)",
        (
            *said,
            "A torque is as good as its nut factor: ±25 % in preload is usual (from memory). The "
            "procedure's own torque stands above it.",
        ),
    )


PRELOAD = Calculation(
    "preload",
    "Preload of a bolt, its torque and its share of the proof load",
    (
        Field("thread", Kind.WORDS, "7/16-20, #10-32 or M10x1.5.", metavar="THREAD"),
        Field("grade", Kind.WORDS, "2, 5, 8, A574, 8.8, 10.9 or 12.9.", metavar="GRADE"),
        Field(
            "share", Kind.PERCENT, "Of the proof load, in percent.", False, "75 %",
            metavar="PERCENT",
        ),
        torque_field("torque", "Instead of a share: the preload a torque gives.", required=False),
        Field(
            "friction",
            Kind.NUMBER,
            "Nut factor K: about 0.20 dry, 0.15 oiled (common practice).",
            metavar="K",
        ),
    ),
    _preload,
    {"thread": "1/2-13", "grade": "5", "share": "75 %", "friction": "0.20"},
)  # fmt: skip

CALCULATIONS = (TORQUE, JOINT_TORQUE, TORQUE_UNITS, PRELOAD)
