"""Answers by the label of their question: read from a file, and kept while they are given."""

import os
from pathlib import Path

from shopdesk.errors import BadInput, RecordFault

_LONGEST = 100_000


def read(path: Path) -> dict[str, str]:
    """A file of lines ``label = answer``; # begins a remark. Raises BadInput naming the line."""
    try:
        text = path.read_text(encoding="utf-8")
    except OSError as fault:
        raise BadInput(f"{path} cannot be read: {fault.strerror}") from fault
    except UnicodeDecodeError as fault:
        raise BadInput(f"{path} is no text in UTF-8; save it as that") from fault
    if len(text) > _LONGEST:
        raise BadInput(f"{path} is too long for a file of answers")
    found: dict[str, str] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        label, equals, answer = (part.strip() for part in line.partition("="))
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if not equals or not label:
            raise BadInput(
                f"{path.name} line {number}: read {line[:40]!r}, expected label = answer"
            )
        if label in found:
            raise BadInput(f"{path.name} line {number}: {label!r} is answered above already")
        found[label] = answer
    return found


class Kept:
    """Answers on disk as they are given, so that a broken-off session goes on where it stopped.
    PINs are never among them."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def earlier(self) -> dict[str, str]:
        return read(self.path) if self.path.exists() else {}

    def keep(self, given: dict[str, str]) -> None:
        """Raises RecordFault where it cannot be written."""
        lines = [f"{label} = {answer}\n" for label, answer in given.items()]
        draft = self.path.with_name(self.path.name + ".part")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            draft.write_text("".join(["# What was answered so far.\n", *lines]), encoding="utf-8")
            draft.replace(self.path)
        except OSError as fault:
            raise RecordFault(f"{self.path} cannot be written: {fault.strerror}") from fault

    def forget(self) -> None:
        self.path.unlink(missing_ok=True)


def write_whole(path: Path, text: str) -> None:
    """The file is there whole or not at all, and takes the place of none. Raises RecordFault."""
    draft = path.with_name(f".{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with draft.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.link(draft, path)
    except FileExistsError as fault:
        raise RecordFault(f"{path} is there already and was left as it is") from fault
    except OSError as fault:
        raise RecordFault(f"{path} cannot be written: {fault.strerror}") from fault
    finally:
        draft.unlink(missing_ok=True)
