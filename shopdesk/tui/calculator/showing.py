"""A reckoning in words: results with the ideal gas beside, the sum, the source, the cautions."""

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
    if reckoned.outcome is not None:
        return _outcome(reckoned.outcome, width)
    said = []
    if reckoned.refused:
        names = ", ".join(dict.fromkeys(name.replace("-", " ") for name, _ in reckoned.refused))
        said.append(f" No result yet: look at {names}, marked ! above.")
    if reckoned.missing:
        said.append(f" Still needs {reckoned.missing}.")
    if reckoned.fault:
        said.append(f" ! {reckoned.fault}")
    return Text(plain_lines(said))


def plain_lines(lines: Sequence[str]) -> str:
    return "\n".join(plain(line) for line in lines)


def _outcome(outcome: "Outcome", width: int) -> Text:
    text = Text()
    for line in results(outcome.results, width):
        text.append(f"{plain(line)}\n", style="bold")
    said = [f" CAUTION  {caution}" for caution in outcome.cautions]
    said[:0] = [f" Sum: {outcome.sum_text}", f" Source: {outcome.source}"]
    text.append(plain_lines(said))
    return text


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
