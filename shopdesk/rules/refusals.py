"""How the rules say no."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Refusal:
    """``missing`` are line keys; ``whose_move`` a person's role or the customer."""

    sentence: str
    missing: tuple[str, ...] = ()
    whose_move: str = "technician"
