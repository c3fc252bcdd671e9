"""What the bench and the laboratory report."""

from shopdesk.calc import cleanliness
from shopdesk.desk.calculator import values
from shopdesk.desk.calculator.forms import Calculation, Field, Found, Kind
from shopdesk.desk.calculator.given import Given

_PER_ML = "1 mL"


def _cleanliness(given: Given) -> Found:
    volume_ml = given.si("per") * 1e6
    counts = [cleanliness.per_ml(count, volume_ml) for count in given.numbers("counts")]
    counted = None
    if given.has("counted"):
        counted = [int(number) for number in given.numbers("counted")]
    found = cleanliness.code(counts, counted)
    said = ", ".join(f"{count:g}" for count in counts)
    few = (
        (f"Marked >=: fewer than {cleanliness.FEWEST_COUNTED} particles were counted.",)
        if ">=" in found
        else ()
    )
    return Found(
        {"code": values.words(found)},
        f"{said} per mL at 4, 6 and 14 µm(c) and larger: {found}",
        "ISO 4406 table of scale numbers, as printed in two open places; its limits are not exact "
        "doublings",
        few,
    )


CLEANLINESS = Calculation(
    "cleanliness",
    "ISO 4406 code from particle counts",
    (
        Field(
            "counts",
            Kind.NUMBERS,
            "Three: at 4, 6 and 14 µm(c) and larger.",
            positional=True,
            metavar="COUNTS",
        ),
        Field(
            "per",
            Kind.QUANTITY,
            "The volume they are for, 100 mL as laboratories report.",
            False,
            _PER_ML,
            "mL",
            metavar="VOLUME",
        ),
        Field("counted", Kind.NUMBERS, "Particles counted in all at each size.", False),
    ),
    _cleanliness,
    {"counts": "21500 2100 68"},
)

CALCULATIONS = (CLEANLINESS,)
