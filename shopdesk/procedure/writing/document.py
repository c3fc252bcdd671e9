"""The whole document, section after section."""

from shopdesk.procedure.writing import charged, work
from shopdesk.procedure.writing.plan import Gas, Plan, Stands
from shopdesk.procedure.writing.toml import pairs, table

_CHARGED_FIRST = (
    "receipt",
    "vent",
    "teardown",
    "decision",
    "parts",
    "build",
    "charge",
    "proof",
    "hold",
    "release",
    "shipment",
)


def text(plan: Plan) -> str:
    """The document that the plan asks for, in TOML."""
    parts = work.Kit(plan)
    gas = plan.gas
    blocks = [
        _head(plan),
        *parts.kit(),
        *work.receipt(plan),
        *(charged.vent(plan, gas) if gas else ()),
        *parts.teardown(),
        *parts.build(),
        *_proof_and_charge(plan, gas),
        *(charged.hold(plan, gas) if gas else ()),
        *work.leaving(plan),
    ]
    return "\n".join(blocks)


def _proof_and_charge(plan: Plan, gas: Gas | None) -> list[str]:
    proof = work.proof(plan)
    if gas is None:
        return proof
    charge = charged.charge(plan, gas)
    return [*charge, *proof] if gas.before_proof else [*proof, *charge]


def _head(plan: Plan) -> str:
    gas = plan.gas
    first = gas is not None and gas.before_proof
    blocks = [
        f"# What {plan.model} demands, begun from questions on {plan.on.isoformat()}.\n"
        "# The figures are those that were typed; the lines around them are the usual ones. Read\n"
        "# it through against the drawing before anybody works by it, and add what this model\n"
        "# needs: `shopdesk procedure format` describes every kind of line.\n",
        pairs(
            format=1,
            model=plan.model,
            name=plan.name,
            revision="A",
            effective=plan.on,
            changed="First issue.",
            gas_charged=gas is not None,
            highest_service_temperature=gas.hottest if gas else "",
            order=_CHARGED_FIRST if first else (),
        ),
        _rating("rated_pressure", plan.rated, plan.stands),
    ]
    if gas is not None:
        blocks.append(_rating("precharge_limit", gas.limit, plan.stands))
        blocks.append(
            "# The charge, gauge, at the reference temperature; the sheet reckons what to set for\n"
            "# the gas as it is on the day.\n"
            + table(
                "[gas_charge]",
                gas="nitrogen",
                target=gas.target,
                reference=gas.reference,
                tolerance=gas.tolerance,
                volume=gas.volume,
                source=plan.stands.source,
                revision=plan.stands.revision,
                **({"before_proof": True} if first else {}),
            )
        )
    blocks.append(
        "# Minutes the quote reckons with; what jobs truly took stands in the office's reports.\n"
        + table("[labour_minutes]", **dict(plan.minutes))
    )
    return "\n".join(blocks)


def _rating(name: str, value: str, stands: Stands) -> str:
    return table(f"[{name}]", value=value, source=stands.source, revision=stands.revision)
