"""The first rules of a shop, written from what it chose: plain TOML, with the usual cautions."""

from dataclasses import dataclass
from datetime import date

from shopdesk.procedure.writing.toml import chapter, pairs, table


@dataclass(frozen=True, slots=True)
class Choices:
    """What a shop has to choose itself. Quantities carry their unit, money is as typed."""

    name: str
    altitude: str = "0 m"
    reference: str = "20 C"
    pressure_units: tuple[str, ...] = ("bar", "psi")
    torque_units: tuple[str, ...] = ("N·m", "in-lb", "ft-lb")
    length_units: tuple[str, ...] = ("mm", "in")
    currency: str = "EUR"
    rate: str = "75.00"
    margin: int = 20
    fee: str = "90.00"
    warranty_months: int = 12
    promise_days: int = 15
    ships_charged: bool = False
    highest: str = "0 bar"
    transport: str = "shop rule 3, transport"
    overset: str = "1 bar"
    seals: str = "ISO 2230"
    paper: str = "A4"
    opens: str = "07:00"
    closes: str = "16:00"
    days: tuple[str, ...] = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday")


# The usual cautions of the trade (common practice); a shop's own codes come before them.
_CAUTIONS = (
    (
        "receipt",
        "Every unit is charged until its vent record is signed. Do not open,\n"
        "heat or drop it. Local codes and trained practice come before this sheet.",
    ),
    (
        "vent",
        "Oil side first, then gas, slowly, outdoors. Face shield, gloves, ears.\n"
        "Nitrogen takes the air without a smell. Stand clear of cap and valve axis.\n"
        "Never press the valve core with a tool.",
    ),
    (
        "teardown",
        "A stuck piston or a blocked passage can hold pressure behind a zero gauge.\n"
        "If it hisses, stop: tighten nothing, step aside, report it at once.",
    ),
    (
        "build",
        "Never tighten or loosen a joint under pressure. One-time parts once only.\n"
        "Threads and caps have fatigue lives: a damaged one is not dressed.",
    ),
    (
        "proof",
        "Test with liquid, air bled out, guard shut. Never feel for a leak.\n"
        "A jet of oil through the skin is an emergency: go to hospital at once.\n"
        "Tests above the rating belong to the authorised body, not to this bench.",
    ),
    (
        "charge",
        "Dry nitrogen only: never oxygen or air. Read the bottle's label, not its\n"
        "colour. Regulator and hose rated for the bottle. Open slowly; stand aside.",
    ),
    (
        "hold",
        "The unit is charged. Keep it in the rack with its CHARGED tag, valve away\n"
        "from people; no work on it until the hold is read.",
    ),
    (
        "shipment",
        "Vented, or charged only where the shop's transport rule and the carrier's\n"
        "rules for pressurised goods allow it. Ports closed, pressure tag on the unit.",
    ),
)


def text(chosen: Choices, on: date) -> str:
    """The shop's document, revision 1, in force from ``on``."""
    return "\n".join(
        [
            f"# The rules of {chosen.name}, begun from questions. What limits what may be done\n"
            "# says where it stands and in which revision; raise `revision` with every change.\n"
            + pairs(
                name=chosen.name,
                revision="1",
                effective=on,
                altitude=chosen.altitude,
                reference_temperature=chosen.reference,
                torque_units=chosen.torque_units,
                pressure_units=chosen.pressure_units,
                length_units=chosen.length_units,
                currency=chosen.currency,
                seal_standard=chosen.seals,
            ),
            chapter("What work costs"),
            table("[labour]", rate_per_hour=chosen.rate, longest_gap_minutes=60),
            table(
                "[quote]",
                margin_percent=chosen.margin,
                inspection_fee=chosen.fee,
                answer_days=14,
            ),
            table("[warranty]", months=chosen.warranty_months),
            table("[promise]", default_days=chosen.promise_days),
            *_gas(chosen),
            *_counts(),
            chapter("Hours, copies and paper"),
            table("[calendar]", opens=chosen.opens, closes=chosen.closes, days=chosen.days),
            "# Every day the first terminal open after that hour copies the whole record.\n"
            + table("[backup]", hour=12, keep_days=30),
            table("[paper]", size=chosen.paper),
            chapter("Cautions", "They stand beside the lines of their section."),
            *(_caution(section, words) for section, words in _CAUTIONS),
        ]
    )


def _gas(chosen: Choices) -> list[str]:
    return [
        chapter(
            "Gas",
            "Shop rule 1, venting: zero is at most 0.1 bar on both sides, held, read again, and",
            "seen by a second person. It stands in each procedure.",
        ),
        "# How far above the corrected target the regulator is set, for the gas the rig takes\n"
        "# when it comes off; after `enough` charges of a model and rig their own losses count.\n"
        + table(
            "[overset]",
            default=chosen.overset,
            enough=8,
            source="shop rule 2, charging",
            revision="1",
        ),
        "# Whether a charged unit may leave, and up to which pressure. Check the rules for\n"
        "# pressurised goods in force and the carrier's word before relying on it.\n"
        + table(
            "[transport]",
            ships_charged=chosen.ships_charged,
            highest=chosen.highest,
            source=chosen.transport,
            revision="1",
        ),
        "# A torque this near to the target in another unit is asked about: a slip of units.\n"
        + table("[slip]", within_percent=12),
    ]


def _counts() -> list[str]:
    """As is usual: Pareto's shares, and what a class may be out by."""
    usual = (("A", 60, 0, 0), ("B", 120, 2, 1), ("C", 365, 5, 2))
    return [
        chapter(
            "Counts of the stores",
            "A to C by the share of the yearly value that jobs draw; critical parts are at least",
            "of the class named. Beyond its tolerance a lot is counted again by somebody else, and",
            "beyond it again a manager approves. At most lots_a_day stand on a day's sheet.",
        ),
        table(
            "[counting]",
            a_percent=80,
            b_percent=95,
            critical="A",
            lots_a_day=12,
            source="shop rule 4, counts (common practice)",
            revision="1",
        ),
        *(
            table(
                f"[counting.{name}]",
                every_days=days,
                tolerance_percent=percent,
                tolerance_pieces=pieces,
            )
            for name, days, percent, pieces in usual
        ),
    ]


def _caution(section: str, words: str) -> str:
    return f'[[caution]]\nsection = "{section}"\ntext = """{words}"""\n'
