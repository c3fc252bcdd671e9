"""One question after the other: example, usual answer, a bad answer asked again."""

import sys
import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import click

from shopdesk.cli.asking.answers import Kept
from shopdesk.errors import BadInput, RecordFault, ShopError

Value = TypeVar("Value")
Result = TypeVar("Result")

BACK = "<"
NONE = "-"
_WIDTH = 78
HOW = (
    f"Enter takes what stands in [brackets], {BACK} goes back one question, Ctrl-C stops and keeps "
    "what you answered."
)


class Stopped(Exception):
    """Somebody pressed Ctrl-C; what was answered is kept."""


class _Back(Exception):
    pass


class Ended(BadInput):
    """A pipe has no line more."""


@dataclass(frozen=True)
class Asked:
    """A question. ``label`` is its name in a file of answers; ``usual`` None: there is no usual
    answer, "": nothing is one; ``follows`` gives it from the answers before it in its row."""

    label: str
    words: str
    read: Callable[[str], Any]
    example: str = ""
    usual: str | None = None
    follows: Callable[[Sequence[Any]], str] | None = None

    def after(self, answers: Sequence[Any]) -> "Asked":
        """The question once the answers before it in its row are known."""
        return self if self.follows is None else replace(self, usual=self.follows(answers))


@dataclass
class Asker:
    """``given`` are answers from a file, which stand; ``kept`` is where the others are kept.
    ``patient``: somebody sits there to be asked again."""

    given: Mapping[str, str] = field(default_factory=dict)
    kept: Kept | None = None
    patient: bool = True
    from_file: bool = False
    _typed: dict[str, str] = field(default_factory=dict)
    _before: dict[str, str] = field(default_factory=dict)
    _used: set[str] = field(default_factory=set)
    _silent: set[str] = field(default_factory=set)
    _met: list[str] = field(default_factory=list)  # answered in this run of questions, in order
    _ahead: list[str] = field(default_factory=list)  # said with the next question that is shown

    def __post_init__(self) -> None:
        if self.kept is not None:
            self._typed = self.kept.earlier()

    @property
    def resumes(self) -> int:
        """How many answers an earlier session left."""
        return len(self._typed)

    def through(self, flow: Callable[["Asker"], Result], *, whole: bool = True) -> Result:
        """Runs the questions to their end; going back runs them again with what was answered.
        ``whole``: this is all that is asked, and an answer of the file that no question asked for
        raises BadInput."""
        while True:
            self._met = []
            try:
                found = flow(self)
            except _Back:
                self._silent = set(self._typed)
                continue
            if whole and (unused := self.unasked()):
                raise BadInput(f"no question asked for {', '.join(map(repr, unused[:5]))}")
            return found

    def put(self, flow: Callable[["Asker"], Result], write: Callable[[Result], Value]) -> Value:
        """Asks, then writes what was answered. What the record refuses is told and asked again,
        every answer offered as it was; ``write`` leaves alone what an earlier try wrote."""
        while True:
            found = self.through(flow, whole=False)
            try:
                return write(found)
            except ShopError as fault:
                if isinstance(fault, RecordFault) or not self.patient or not self._typed:
                    raise
                self.complain("", fault)
                self._before, self._typed = {**self._before, **self._typed}, {}

    def unasked(self) -> list[str]:
        """Labels of the file that no question asked for yet."""
        return [label for label in self.given if label not in self._used]

    def settle(self) -> None:
        """What was answered so far is done with: it is neither kept nor gone back to."""
        self._typed, self._before, self._silent, self._met = {}, {}, set(), []
        if self.kept is not None:
            self.kept.forget()

    def twice(self, label: str) -> bool:
        """Whether a secret is typed unseen, where a slip would not be noticed."""
        return label not in self.given and sys.stdin.isatty()

    def head(self, title: str, remark: str = "") -> None:
        self._ahead = ["", title.upper(), *([remark] if remark else [])]

    def ask(self, question: Asked) -> Any:
        """The answer, read. Raises BadInput where nobody can be asked again."""
        label = question.label
        self._used.add(label)
        if label in self.given and label not in self._before:
            return self._stands(question, self.given[label])
        if label in self._typed:
            found = self._replayed(question)
            if found is not None:
                return found[0]
        if self.from_file and label not in self._before and question.usual is not None:
            return question.read(question.usual)
        return self._prompted(question)

    def row(self, fields: Sequence[Asked]) -> tuple[Any, ...] | None:
        """Several answers about one thing, asked one by one or typed at once between semicolons;
        None where the first is left empty."""
        found = self.ask(replace(fields[0], read=lambda text: _split(text, fields)))
        if found is None:
            return None
        for each in fields[len(found) :]:
            found.append(self.ask(each.after(found)))
        return tuple(found)

    def rows(self, label: str, fields: Callable[[str], Sequence[Asked]]) -> list[tuple[Any, ...]]:
        """Rows "label 1", "label 2", … until one is left empty."""
        found: list[tuple[Any, ...]] = []
        while (row := self.row(fields(f"{label} {len(found) + 1}"))) is not None:
            found.append(row)
        return found

    def secret(self, label: str, words: str, read: Callable[[str], Value]) -> Value:
        """As ``ask``, neither shown nor kept."""
        self._used.add(label)
        if label in self.given:
            return read(self.given[label])
        while True:
            self.say_ahead()
            say(words)
            try:
                return read(self._line(hidden=True))
            except ShopError as fault:
                self.complain(label, fault)

    def _stands(self, question: Asked, text: str) -> Any:
        try:
            return question.read(text)
        except ShopError as fault:
            if not self.patient:
                raise BadInput(f"{question.label}: {fault}") from fault
            self._show(question)
            self.complain(question.label, fault)
            return self._prompted(question, shown=True)

    def _replayed(self, question: Asked) -> tuple[Any] | None:
        text = self._typed[question.label]
        try:
            found = question.read(text)
        except ShopError:
            del self._typed[question.label]
            return None
        if question.label in self._silent:
            self._ahead = []
        else:
            self._show(question)
            click.echo(f"> {text}")
        self._met.append(question.label)
        return (found,)

    def _prompted(self, question: Asked, *, shown: bool = False) -> Any:
        if self.from_file and not sys.stdin.isatty():
            raise BadInput(
                f"{question.label}: the file of answers says nothing of it ({question.words}), and "
                f"there is no usual one; add {question.label} = {question.example}"
            )
        usual = self._before.get(question.label, question.usual)
        if not shown:
            self._show(question, usual)
        while True:
            try:
                text = self._line() or usual
                if text is None:
                    raise BadInput(f"an answer is needed, such as {question.example}")
                found = question.read("" if text == NONE and question.usual == "" else text)
            except ShopError as fault:
                self.complain(question.label, fault)
                continue
            self._keep(question.label, text)
            return found

    def _show(self, question: Asked, usual: str | None = None) -> None:
        self.say_ahead()
        usual = question.usual if usual is None else usual
        hints = [f"such as {question.example}"] if question.example else []
        say(question.words)
        shown = f"[{usual}]" if usual else "[nothing]" if usual == "" else ""
        if usual and question.usual == "":
            shown += f", {NONE} for nothing"
        said = "; ".join(hints)
        if said or shown:
            click.echo(
                textwrap.fill(
                    "  ".join(part for part in (said, shown) if part),
                    _WIDTH,
                    initial_indent="  ",
                    subsequent_indent="  ",
                )
            )

    def say_ahead(self) -> None:
        for words in self._ahead:
            say(words)
        self._ahead = []

    def _line(self, *, hidden: bool = False) -> str:
        try:
            text = _typed_line(hidden)
        except (KeyboardInterrupt, click.Abort):
            click.echo()
            raise Stopped from None
        if text == BACK and not hidden:
            self._go_back()
        return text

    def _go_back(self) -> None:
        if not self._met:
            raise BadInput("this is the first question that can be answered anew")
        label = self._met[-1]
        self._before[label] = self._typed.pop(label)
        raise _Back

    def _keep(self, label: str, text: str) -> None:
        self._typed[label] = text
        self._met.append(label)
        self._before.pop(label, None)
        if self.kept is not None:
            self.kept.keep(self._typed)

    def complain(self, label: str, fault: ShopError) -> None:
        if not self.patient or isinstance(fault, Ended):
            raise type(fault)(f"{label}: {fault}") from fault
        click.echo(
            textwrap.fill(f"{fault}", _WIDTH, initial_indent="  ! ", subsequent_indent="    ")
        )


def say(words: str) -> None:
    click.echo(textwrap.fill(words, _WIDTH))


def _split(text: str, fields: Sequence[Asked]) -> list[Any] | None:
    """What stands between semicolons, each piece read by its own field; one piece alone leaves
    the others to be asked."""
    if not text.strip():
        return None
    pieces = [piece.strip() for piece in text.split(";")]
    if len(pieces) > len(fields):
        named = "; ".join(each.words for each in fields)
        raise BadInput(f"{len(pieces)} pieces between semicolons, at most {len(fields)}: {named}")
    if len(pieces) == 1:
        return [fields[0].read(pieces[0])]
    found: list[Any] = []
    for number, field_ in enumerate(fields):
        each = field_.after(found)
        piece = pieces[number] if number < len(pieces) else ""
        piece = "" if piece == NONE and each.usual == "" else piece
        if not piece and each.usual is None:
            raise BadInput(f"{each.label}: nothing there, expected for example {each.example}")
        try:
            found.append(each.read(piece or each.usual or ""))
        except ShopError as fault:
            raise BadInput(f"{each.label}: {fault}") from fault
    return found


def _typed_line(hidden: bool) -> str:
    """A line as typed; from a pipe it is shown, so that what was asked can be read afterwards."""
    if sys.stdin.isatty():
        typed = click.prompt(
            ">", prompt_suffix=" ", default="", show_default=False, hide_input=hidden
        )
        return str(typed).strip()
    line = sys.stdin.readline()
    if not line:
        click.echo()
        raise Ended("the answers end here; give one line more, or run it at a terminal")
    click.echo("> " if hidden else f"> {line.strip()}")
    return line.strip()
