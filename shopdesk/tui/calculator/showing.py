"""A reckoning in words: results with the ideal gas beside, the sum, the source, the cautions."""

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from shopdesk.tui.columns import plain

if TYPE_CHECKING:
    from shopdesk.desk.calculator import Calculation, Outcome, Value
    from shopdesk.tui.calculator.reckoning import Reckoned

IDEAL = "_ideal"


def shown(reckoned: "Reckoned", width: int) -> Text:
    """What stands below the fields."""
    text = Text()
    if reckoned.outcome is not None:
        for line in results(reckoned.outcome.results, width):
            text.append(f"{plain(line)}\n", style="bold")
        return text.append(wrapped(_about(reckoned.outcome), width))
    for (name, _), sentence in reckoned.refused.items():
        text.append(wrapped([f"! {name.replace('-', ' ')}: {sentence}"], width) + "\n", "bold")
    if reckoned.fault:
        text.append(wrapped([f"! {reckoned.fault}"], width) + "\n", "bold")
    if reckoned.missing:
        text.append(wrapped([f"Still needs {reckoned.missing}."], width))
    return text


def wrapped(paragraphs: Sequence[str], width: int) -> str:
    """Each paragraph on lines of its own, all but its first set in."""
    return "\n".join(
        textwrap.fill(
            plain(paragraph),
            width,
            initial_indent=" ",
            subsequent_indent="   ",
            break_on_hyphens=False,
        )
        for paragraph in paragraphs
    )


def _about(outcome: "Outcome") -> list[str]:
    cautions = [f"CAUTION  {caution}" for caution in outcome.cautions]
    return [f"Sum: {outcome.sum_text}", f"Source: {outcome.source}", *cautions]


def results(found: "Mapping[str, Value]", width: int) -> list[str]:
    """A line for each result, real gas and ideal on one where both fit."""
    names = [name for name in found if not (name.endswith(IDEAL) and _real(name) in found)]
    label = max(len(name) for name in names)
    lines = []
    for name in names:
        line = f" {name.replace('_', ' ').ljust(label)}  {found[name].as_text}"
        ideal = found.get(name + IDEAL)
        if ideal is not None:
            beside = f"{line}   ideal gas {ideal.as_text}"
            below = f" {'ideal gas'.rjust(label)}  {ideal.as_text}"
            lines += [beside] if len(beside) <= width else [line, below]
        else:
            lines.append(line)
    return lines


def _real(name: str) -> str:
    return name.removesuffix(IDEAL)


def example(calculation: "Calculation") -> str:
    """The worked example as the help shows it: what is typed, and what comes of it."""
    outcome = calculation.run(calculation.example)
    typed = [
        f"  {name.replace('-', ' ')}: {line}"
        for name, text in calculation.example.items()
        for line in text.splitlines()
    ]
    found = [f" {line}" for line in results(outcome.results, 76)]
    return "\n".join(["Example (F7 puts it in):", *typed, *found, f"  Sum: {outcome.sum_text}"])
