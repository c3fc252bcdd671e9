"""The lines of a unit that holds gas: let down, charged, held, in the order that is safe.

The usual cautions are common practice in the trade; local codes, the unit's own instructions and
licensed practice stand above them.
"""

from shopdesk.procedure.writing.plan import Gas, Plan, Stands
from shopdesk.procedure.writing.toml import Names, chapter, line

GAUGE = "pressure gauge"
ZERO = "0.1 bar"


def vent(plan: Plan, gas: Gas) -> list[str]:
    return [
        chapter(
            "Vent",
            "Every unit counts as charged until this section is complete and a second person has",
            "signed it. Oil side first, then gas, then zero proved, held and read again.",
        ),
        line(
            "vent",
            "arrival",
            "reading",
            "Gas pressure before venting",
            caution="Face shield on. Valve axis away from you. Treat as charged.",
            help="Rig on snug, bleed closed. The temperature of the shell beside it.",
            unit=_unit(plan),
            units=plan.units,
            at_temperature=_degrees(gas.reference),
            instrument=GAUGE,
        ),
        line(
            "vent",
            "oil_open",
            "vent",
            "Oil side open to air, drained",
            caution="Oil first. Crack the fitting a quarter turn and wait before the next.",
            side="oil",
        ),
        line(
            "vent",
            "gas_open",
            "vent",
            "Gas side vented through the rig, outdoors",
            caution="Slowly: ears, eyes. Nitrogen takes the air without a smell. "
            "Never press the valve core with a tool.",
            side="gas",
        ),
        _zero(plan, "zero_oil", "Zero on the oil side"),
        _zero(plan, "zero_gas", "Zero on the gas side, low gauge"),
        line(
            "vent",
            "passage",
            "tick",
            "Gas valve proved open, nothing behind it",
            caution="Stand beside the valve, never in front of it.",
            help="A blocked passage or a stuck core shows a zero that is not one.",
        ),
        line("vent", "held", "wait", "Zero held, both sides open", duration=gas.zero_held),
        _zero(plan, "zero_again", "Zero on the gas side, read again"),
        line(
            "vent",
            "witness",
            "signature",
            "Second person has seen both sides at zero",
            witness=True,
        ),
    ]


def _zero(plan: Plan, key: str, text: str) -> str:
    rule: Stands = plan.vented
    return line(
        "vent",
        key,
        "reading",
        text,
        unit="bar",
        units=plan.units,
        limit={"high": ZERO, "source": rule.source, "revision": rule.revision},
        instrument=GAUGE,
    )


_CHARGE_KEYS = (
    *("bottle", "regulator", "hose", "rig", "rig_on", "setting", "fill", "settle", "close"),
    *("rig_off", "read_back", "bubbles", "cap"),
)


def charge(plan: Plan, gas: Gas) -> list[str]:
    scanned = [
        line("charge", kind.replace(" ", "_"), "prepare", text, instrument=kind)
        for kind, text in (
            ("regulator", "Regulator on the bottle, spindle backed out"),
            ("hose", "Charging hose, looked over end to end"),
        )
        if kind in gas.scanned
    ]
    names = Names(*_CHARGE_KEYS)
    open_ports = [
        line(
            "charge",
            names.of(port.name),
            "port",
            f"{port.name[:1].upper()}{port.name[1:]} for the charge",
            port=port.name,
            leave="open",
        )
        for port in plan.ports
    ]
    before = "First charged, then proved" if gas.before_proof else "Only what is proved is charged"
    return [
        chapter("Charge", f"{before}; line by line, in this order."),
        line(
            "charge",
            "bottle",
            "prepare",
            "Nitrogen bottle: label read, strapped, scanned",
            caution="Nitrogen only. Never oxygen, never air.",
            instrument="bottle",
        ),
        *scanned,
        line("charge", "rig", "prepare", "Charging rig, bleed closed", instrument="rig"),
        line("charge", "rig_on", "torque", "Rig onto the gas valve", snug=True),
        *open_ports,
        line(
            "charge",
            "setting",
            "regulator",
            "Regulator set for the gas temperature",
            units=plan.units,
        ),
        line(
            "charge",
            "fill",
            "tick",
            "Filled slowly to the setting",
            caution="Open slowly; stand aside. Fast gas is hot gas: it reads low tomorrow.",
        ),
        line("charge", "settle", "wait", "Settled with the supply on", duration=gas.settle),
        line("charge", "close", "tick", "Supply valve closed"),
        line(
            "charge",
            "rig_off",
            "tick",
            "Rig off in one quick turn, then hose bled",
            caution="Gas spits until the check seats: face shield, hands beside.",
        ),
        line(
            "charge",
            "read_back",
            "charge",
            "Charge read back, rig off",
            help="Read once: the gauge takes a little gas each time.",
            units=plan.units,
        ),
        line(
            "charge",
            "bubbles",
            "choice",
            "Leak fluid on the gas valve, two minutes",
            options=("no bubbles", "bubbles"),
            outside=("bubbles",),
        ),
        line("charge", "cap", "torque", "Valve cap on", snug=True),
    ]


def hold(plan: Plan, gas: Gas) -> list[str]:
    return [
        chapter("Hold", "Both readings are brought to the reference temperature."),
        line(
            "hold",
            "stands",
            "wait",
            "In the rack, tagged CHARGED",
            caution="Charged unit: valve away from people.",
            duration=gas.hold,
        ),
        line(
            "hold",
            "leak",
            "leak",
            "Charge after the hold",
            start="charge.read_back",
            loss=gas.loss,
            source=plan.stands.source,
            revision=plan.stands.revision,
            units=plan.units,
        ),
    ]


def _unit(plan: Plan) -> str:
    return plan.units[0]


def _degrees(reference: str) -> str:
    return "°F" if reference.strip().upper().endswith("F") else "°C"
