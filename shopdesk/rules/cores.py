"""What of a deposit goes back for a core."""

from collections.abc import Sequence

from shopdesk.errors import BadInput
from shopdesk.rules.shop import Cores


def credit(
    deposit_cents: int, grade: str, rules: Cores, missing_cents: Sequence[int], *, late: bool
) -> int:
    """The deposit's share for the grade, less what was missing, never below nothing; of a core
    that came after its day the shop's late share of that. Raises BadInput for an unknown grade."""
    shares = dict(rules.grades)
    if grade not in shares:
        raise BadInput(f"read grade {grade[:20]!r}, expected one of {', '.join(shares)}")
    whole = max(0, round(deposit_cents * shares[grade] / 100) - sum(missing_cents))
    return round(whole * rules.late_percent / 100) if late else whole
