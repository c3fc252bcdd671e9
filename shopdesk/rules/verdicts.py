"""Judging one answer: within or outside, the limit and its source, and what to say beside it."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from shopdesk import quantities
from shopdesk.calc import torque as torques
from shopdesk.procedure import types as doc
from shopdesk.rules import bores, charging, claims, pressures
from shopdesk.rules.answers import Answer, Verdict
from shopdesk.rules.dispositions import measured_again, taken_apart
from shopdesk.rules.generated import Issue
from shopdesk.rules.sheet import LineState, Sheet
from shopdesk.rules.slots import CANNOT, Slot

AGAIN = "in place of one spent by work done over: the shop pays, apart in the job's money"
TINY = 1e-9  # relative: a value typed at the limit is at the limit after conversion


@dataclass(frozen=True, slots=True)
class Judged:
    verdict: Verdict = Verdict.NONE
    limit_text: str = ""
    source: str = ""
    note: str = ""


def judge(
    sheet: Sheet,
    line: doc.Line,
    slot: Slot,
    given: Mapping[str, Answer],
    value_si: float | None,
    answer: str,
) -> Judged:
    """The verdict on this answer. ``given`` are the line's answers that count, this one too."""
    if slot.name == "disposition":
        return Judged(note=_brings(sheet, line, answer))
    if value_si is None:
        return _judge_words(line, slot, answer)
    match line:
        case doc.Reading() if slot.name == "temperature":
            return Judged(note=_at_reference(sheet, line, given))
        case doc.Reading() if slot.name == "value":
            return _by_limit(line.limit, value_si, line.unit)
        case doc.Survey():
            return _survey(line, given, value_si)
        case doc.Repeat():
            return _repeat(line, given, value_si)
        case doc.Restore():
            return _restore(sheet, line, value_si)
        case doc.Torque():
            return _torque(line, slot, value_si)
        case doc.Regulator() if slot.name == "setting":
            return _regulator(sheet)
        case claims.Again():
            return _again(sheet, line, slot, given, value_si)
        case doc.Charge() if {"value", "temperature"} <= given.keys():
            return _charge(sheet, line, given)
        case doc.Leak() if {"value", "temperature"} <= given.keys():
            return _leak(sheet, line, given)
        case Issue() if again(sheet.get(line.key)):
            return Judged(note=AGAIN)
    return Judged()


def _brings(sheet: Sheet, line: doc.Line, word: str) -> str:
    """What a disposition asks again beside its own line, in the words of the sheet."""
    measured = ", ".join(each.text for each in measured_again(sheet, line, word))
    said = [f"measured again after it: {measured}"] if measured else []
    if taken_apart(sheet, line, word):
        said.append("what was built before it is done over")
    return "; ".join(said)


def again(state: LineState | None) -> bool:
    """Whether an issue line asks for more because the pieces issued before were spent."""
    return state is not None and any(answer.done_over for answer in state.past)


def _judge_words(line: doc.Line, slot: Slot, answer: str) -> Judged:
    match line:
        case claims.Again() if not answer.startswith(CANNOT):
            return _judge_words(line.earlier.line, slot, answer)
        case doc.Reading() | doc.Survey() if line.limit is not None and answer.startswith(CANNOT):
            return Judged(
                Verdict.OUTSIDE,
                limit_text(line.limit, line.unit),
                sourced(line.limit.source, line.limit.revision),
                "not measured: whether it is within its limit is not known",
            )
        case doc.Finding() if slot.name == "condition":
            return Judged(
                Verdict.WITHIN if answer == "good" else Verdict.OUTSIDE, "good", "inspection"
            )
        case doc.Port():
            good = answer == line.leave
            return Judged(Verdict.WITHIN if good else Verdict.OUTSIDE, line.leave, "procedure")
        case doc.Choice() if line.outside:
            outside = answer in line.outside
            return Judged(
                Verdict.OUTSIDE if outside else Verdict.WITHIN,
                _wanted(line),
                "procedure",
            )
    return Judged()


def _wanted(line: doc.Choice) -> str:
    """The answers that will do, or where they are the more, those that will not."""
    good = [option for option in line.options if option not in line.outside]
    if len(good) <= len(line.outside):
        return " or ".join(good)
    return "not " + " or ".join(line.outside)


def limit_text(limit: doc.Limit, unit: str) -> str:
    """ "60.0 to 80.0 bar", "at most 0.05 mm" in the procedure's unit."""
    low = None if limit.low is None else quantities.text(limit.low.value_si, unit)
    high = None if limit.high is None else quantities.text(limit.high.value_si, unit)
    if low is not None and high is not None:
        return f"{low} to {high}"
    return f"at least {low}" if low is not None else f"at most {high}"


def own_limit(line: doc.Line) -> str:
    """The line's own limit with its source, as it will be judged; "" where it has none."""
    match line:
        case claims.Again():
            return own_limit(line.earlier.line)
        case doc.Reading() | doc.Survey() | doc.Repeat() if line.limit is not None:
            source = sourced(line.limit.source, line.limit.revision)
            return f"{limit_text(line.limit, line.unit)} ({source})"
        case doc.Torque() if line.target is not None and line.tolerance is not None:
            source = sourced(line.source, line.revision)
            return f"{line.target.typed} ± {line.tolerance.typed} ({source})"
    return ""


def sourced(source: str, revision: str) -> str:
    return f"{source} rev {revision}" if revision else source


def _by_limit(limit: doc.Limit | None, value_si: float, unit: str) -> Judged:
    if limit is None or (limit.low is None and limit.high is None):
        return Judged()
    return Judged(
        Verdict.OUTSIDE if bores.beyond(limit, value_si) else Verdict.WITHIN,
        limit_text(limit, unit),
        sourced(limit.source, limit.revision),
    )


def _within_span(value_si: float, target_si: float, span_si: float) -> bool:
    return abs(value_si - target_si) <= span_si + TINY * max(abs(value_si), abs(target_si))


def _survey(line: doc.Survey, given: Mapping[str, Answer], value_si: float) -> Judged:
    cell = _by_limit(line.limit, value_si, line.unit)
    result = bores.survey_result(line, given)
    if result is None:
        return cell
    faults = bores.whole_faults(line, given)
    note = (
        f"mean {quantities.text(result.mean_m, line.unit)}, out-of-round "
        f"{quantities.span_text(result.out_of_round_m, line.unit)}, taper "
        f"{quantities.span_text(result.taper_m, line.unit)}"
    )
    bounds = [cell.limit_text]
    if line.out_of_round is not None:
        bounds.append(f"out-of-round {line.out_of_round.typed}")
    if line.taper is not None:
        bounds.append(f"taper {line.taper.typed}")
    verdict = Verdict.OUTSIDE if faults else cell.verdict
    said = f"; {' and '.join(faults)} outside" if faults else ""
    return Judged(verdict, ", ".join(bounds), cell.source, note + said)


def _repeat(line: doc.Repeat, given: Mapping[str, Answer], value_si: float) -> Judged:
    one = _by_limit(line.limit, value_si, line.unit)
    spread = bores.spread_m(line, given)
    if spread is None:
        return one
    faults = bores.whole_faults(line, given)
    values = [a.value_si for a in given.values() if a.value_si is not None]
    mean = sum(values) / len(values)
    note = (
        f"mean {quantities.text(mean, line.unit)}, spread {quantities.span_text(spread, line.unit)}"
    )
    bound = f"spread at most {line.spread.typed}"
    verdict = Verdict.OUTSIDE if faults or one.verdict is Verdict.OUTSIDE else Verdict.WITHIN
    return Judged(
        verdict,
        f"{one.limit_text}, {bound}" if one.limit_text else bound,
        one.source or "procedure",
        note,
    )


def _restore(sheet: Sheet, line: doc.Restore, value_si: float) -> Judged:
    target = sheet.reference_value(line.reference)
    if target is None:
        return Judged(note="no valid teardown reading: the setting is made by test")
    good = _within_span(value_si, target, line.tolerance.value_si)
    difference = quantities.span_text(value_si - target, line.tolerance.unit)
    measured = quantities.text(target, line.unit)
    return Judged(
        Verdict.WITHIN if good else Verdict.OUTSIDE,
        f"{measured} ± {line.tolerance.typed}",
        sourced(line.source, line.revision),
        f"teardown {measured}, difference {difference}",
    )


def _torque(line: doc.Torque, slot: Slot, value_si: float) -> Judged:
    if line.target is None or line.tolerance is None:
        return Judged()
    n = int(slot.name.removeprefix("p"))
    share = line.passes[n - 1]
    bound = f"{line.target.typed} ± {line.tolerance.typed}"
    note = "; ".join(_also(value_si, line)) + _adapter_note(line, share)
    if n < len(line.passes):
        return Judged(
            limit_text=f"{share:.0%} of {line.target.typed}",
            source=sourced(line.source, line.revision),
            note=note,
        )
    good = _within_span(value_si, line.target.value_si, line.tolerance.value_si)
    return Judged(
        Verdict.WITHIN if good else Verdict.OUTSIDE,
        bound,
        sourced(line.source, line.revision),
        note,
    )


def _also(value_nm: float, line: doc.Torque) -> list[str]:
    other = "N·m" if line.unit != "N·m" else "ft-lb"
    return [f"also {quantities.text(value_nm, other)}"]


def _adapter_note(line: doc.Torque, share: float) -> str:
    setting = adapter_setting_nm(line, share)
    if setting is None:
        return ""
    return f"; with the adapter the wrench shows {quantities.text(setting, line.unit)}"


def adapter_setting_nm(line: doc.Torque, share: float = 1.0) -> float | None:
    """What the wrench is set to for the target at the joint; None without an adapter."""
    if line.adapter is None or line.target is None:
        return None
    return torques.adapter_setting(
        line.target.value_si * share,
        line.adapter.wrench_length.value_si,
        line.adapter.length.value_si,
        math.degrees(line.adapter.angle.value_si),
    )


def _regulator(sheet: Sheet) -> Judged:
    rated = sheet.procedure.rated_pressure
    if rated is None:
        return Judged()
    return Judged(
        Verdict.WITHIN, f"not above {rated.value.typed}", sourced(rated.source, rated.revision)
    )


def _charge(sheet: Sheet, line: doc.Charge, given: Mapping[str, Answer]) -> Judged:
    plan = sheet.procedure.charge
    settled = pressures.at_reference(sheet, given)
    if plan is None or settled is None:
        return Judged()
    faults = charging.charge_faults(sheet.procedure, sheet.shop, settled)
    good = _within_span(settled, plan.target.value_si, plan.tolerance.value_si) and not faults
    note = f"{quantities.text(settled, plan.target.unit)} at {plan.reference.typed}"
    if faults:
        note += f"; {faults[0]}: let it down now"
    return Judged(
        Verdict.WITHIN if good else Verdict.OUTSIDE,
        f"{plan.target.typed} ± {plan.tolerance.typed} at {plan.reference.typed}",
        sourced(plan.source, plan.revision),
        note,
    )


def _leak(sheet: Sheet, line: doc.Leak, given: Mapping[str, Answer]) -> Judged:
    start = sheet.get(line.start)
    before = None if start is None else pressures.at_reference(sheet, start.given)
    now = pressures.at_reference(sheet, given)
    if before is None or now is None:
        return Judged(
            Verdict.OUTSIDE,
            f"loss at most {line.loss.typed}",
            line.source,
            "no reading to compare with",
        )
    loss = before - now
    good = loss <= line.loss.value_si * (1 + TINY)
    unit = line.loss.unit
    return Judged(
        Verdict.WITHIN if good else Verdict.OUTSIDE,
        f"loss at most {line.loss.typed}",
        sourced(line.source, line.revision),
        f"{quantities.text(now, unit)} against {quantities.text(before, unit)}, both at reference:"
        f" {'lost' if loss >= 0 else 'gained'} {quantities.span_text(abs(loss), unit)}",
    )


def _again(
    sheet: Sheet, line: claims.Again, slot: Slot, given: Mapping[str, Answer], value_si: float
) -> Judged:
    """By the limit of the earlier certificate, with what it read then."""
    of, plan = line.earlier.line, sheet.procedure.charge
    now: float | None = value_si
    match of:
        case doc.Charge() if plan is not None:
            now = pressures.at_reference(sheet, given)
            judged = _charge(sheet, of, given)
        case doc.Leak():
            now = None
            judged = _leak(sheet, replace(of, start=line.start), given)
        case doc.Reading() if slot.name == "value":
            judged = _by_limit(of.limit, value_si, of.unit)
        case _:
            return Judged()
    if judged.verdict is Verdict.NONE and now is None:
        return judged
    told = f"J-{sheet.facts.claim.job} {line.earlier.text}" if sheet.facts.claim else ""
    notes = (judged.note, f"{told}{against(line.earlier.value_si, now)}")
    return replace(judged, note="; ".join(note for note in notes if note))


def against(before: float | None, now: float | None) -> str:
    """ ": 12 % below it" """
    if before is None or now is None or before == 0.0:
        return ""
    share = (now - before) / abs(before)
    if abs(share) < 0.0005:
        return ": the same"
    return f": {100 * abs(share):.3g} % {'above' if share > 0 else 'below'} it"


def _at_reference(sheet: Sheet, line: doc.Reading, given: Mapping[str, Answer]) -> str:
    """What a gas reading means at the reference temperature."""
    plan = sheet.procedure.charge
    if plan is None or line.section not in ("receipt", "vent"):
        return ""
    if quantities.dimension_of(line.unit) is not quantities.Dimension.PRESSURE:
        return ""
    now = pressures.at_reference(sheet, given)
    return "" if now is None else f"{quantities.text(now, line.unit)} at {plan.reference.typed}"


def slip_question(sheet: Sheet, line: doc.Line, slot: Slot, value_si: float) -> str | None:
    """A torque that looks like the right number in the wrong unit, as a question to answer."""
    if not isinstance(line, doc.Torque) or line.target is None or not slot.name.startswith("p"):
        return None
    share = line.passes[int(slot.name.removeprefix("p")) - 1]
    target = line.target.value_si * share
    if line.tolerance and _within_span(value_si, target, line.tolerance.value_si):
        return None
    slip = torques.slip(value_si, target, within=sheet.shop.slip_within)
    if slip is None:
        return None
    said, typed = quantities.text(value_si, line.unit), _torque_text(value_si, slip.typed_unit)
    return (
        f"{said} is {slip.ratio:.3g} times the {quantities.text(target, line.unit)} of this line; "
        f"{typed if typed != said else 'it'} would be near it as "
        f"{_torque_text(slip.meant_nm, slip.meant_unit)}. Was it really pulled to {said}?"
    )


def _torque_text(value_nm: float, unit: str) -> str:
    """As the bench writes it: "35.0 in-lb", not of pounds-force."""
    return quantities.text(value_nm, unit.replace("lbf", "lb").replace("N m", "N·m"))
