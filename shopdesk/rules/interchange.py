"""Which part may stand in for which: one way, where a manager said so, until it is withdrawn.

What stands in for a part may not be stood in for by it, nor does its own stand-in do for the part:
each is asked and approved by itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from shopdesk.errors import BadInput

PROPOSED, APPROVED, TURNED_DOWN, WITHDRAWN = "proposed", "approved", "turned down", "withdrawn"

Asking = Mapping[str, Sequence[str]]
"""Models whose kit asks for a part, each with its kit lines."""


@dataclass(frozen=True, slots=True)
class Interchange:
    """``stand_in`` for ``part``, ``only_in`` these (model, kit line), "" for all of the model's;
    empty: everywhere. ``stands`` is what was said to it last, ``answered_by`` whom."""

    number: int
    part: str
    stand_in: str
    only_in: tuple[tuple[str, str], ...]
    reason: str
    by: str
    at: datetime
    stands: str = PROPOSED
    answered_by: str = ""
    answered_at: datetime | None = None
    answer_reason: str = ""

    @property
    def open(self) -> bool:
        """Whether it allows something, or may still come to."""
        return self.stands in (PROPOSED, APPROVED)

    def in_model(self, model: str) -> bool:
        """Whether it may stand in somewhere in the model."""
        return not self.only_in or any(model == one for one, _ in self.only_in)

    def covers(self, model: str, kit: str) -> bool:
        """Whether it is meant for this kit line, approved or not."""
        return not self.only_in or any(
            model == one and line in ("", kit) for one, line in self.only_in
        )

    def allows(self, model: str, kit: str) -> bool:
        return self.stands == APPROVED and self.covers(model, kit)

    @property
    def named(self) -> str:
        return f"interchange {self.number}"

    @property
    def source(self) -> str:
        """By what its piece stands in: "interchange 3, MM 2026-03-02"."""
        if self.answered_at is None:
            return self.named
        return f"{self.named}, {self.answered_by} {self.answered_at.astimezone():%Y-%m-%d}"

    @property
    def where(self) -> str:
        """ "PT-1, GT-1 seal"; "everywhere" where it has no limit."""
        return ", ".join(f"{model} {kit}".rstrip() for model, kit in self.only_in) or "everywhere"


@dataclass(frozen=True, slots=True)
class Spec:
    """What a part is made to, as far as stores knows."""

    number: str
    description: str
    dash: str
    compound: str
    thread: str
    grade: str


def differs(part: Spec, stand_in: Spec) -> tuple[str, ...]:
    """What whoever approves it has to weigh: "compound FKM in place of NBR"."""
    found = []
    for name in ("dash", "compound", "thread", "grade"):
        was, now = getattr(part, name), getattr(stand_in, name)
        if was != now:
            word = "size" if name == "dash" else name
            found.append(f"{word} {now or 'not said'} in place of {was or 'not said'}")
    return tuple(found)


def places(typed: str, asking: Asking) -> tuple[tuple[str, str], ...]:
    """Where it may stand in, as typed: models, each with a kit line where it is for that alone.
    Raises BadInput for what asks for no such part."""
    found: dict[tuple[str, str], None] = {}
    known = {model.casefold(): model for model in asking}
    for piece in filter(None, (" ".join(one.split()) for one in typed.split(","))):
        head, _, last = piece.rpartition(" ")
        if piece.casefold() in known:
            found[known[piece.casefold()], ""] = None
        elif head.casefold() in known and last.casefold() in asking[known[head.casefold()]]:
            found[known[head.casefold()], last.casefold()] = None
        else:
            offered = "; ".join(f"{model}: {', '.join(asking[model])}" for model in sorted(asking))
            raise BadInput(
                f"only in: read {piece[:40]!r}; "
                + (
                    f"the kits that ask for it, by model: {offered[:300]}"
                    if asking
                    else "no procedure in force asks for it: leave this empty"
                )
            )
    return tuple(one for one in found if one[1] == "" or (one[0], "") not in found)


def same(one: Interchange, only_in: Sequence[tuple[str, str]]) -> bool:
    """Whether it is meant for all of these places already."""
    if not one.only_in or not only_in:
        return not one.only_in
    return all(one.covers(*place) for place in only_in)


def between(
    asked: str, scanned: str, model: str, kit: str, known: Sequence[Interchange]
) -> tuple[Interchange | None, str]:
    """By what the one part may stand in for the other on this kit line; else None and what is on
    record between the two."""
    for one in known:
        if (one.part, one.stand_in) == (asked, scanned) and one.allows(model, kit):
            return one, ""
    return None, _why_not(asked, scanned, model, kit, known)


def _why_not(asked: str, scanned: str, model: str, kit: str, known: Sequence[Interchange]) -> str:
    """What is on record between two parts, for whoever scanned the one in place of the other: ""
    where nothing is."""
    own = [one for one in known if (one.part, one.stand_in) == (asked, scanned)]
    if own:
        one = min(own, key=lambda one: (not one.open, -one.number))
        return _own(one, model, kit)
    back = [one for one in known if (one.part, one.stand_in) == (scanned, asked) and one.open]
    if back:
        how = "may" if back[-1].stands == APPROVED else "is proposed to"
        return f"{asked} {how} stand in for {scanned} ({back[-1].named}), not the other way round"
    return ""


def _own(one: Interchange, model: str, kit: str) -> str:
    pair = f"{one.stand_in} in place of {one.part} ({one.named})"
    if one.stands == PROPOSED:
        return f"{pair} is proposed, and waits for a manager"
    if one.stands == APPROVED:
        return f"{pair} is approved in {one.where} only"
    said = f": {one.answer_reason}" if one.answer_reason else ""
    return f"{pair} was {one.stands} by {one.answered_by}{said}"
