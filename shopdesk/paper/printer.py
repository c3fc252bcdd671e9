"""Papers kept as files and sent to the system's printer. A printer that fails blocks nothing: the
file is kept, and the sentence says where."""

import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

from shopdesk import settings
from shopdesk.errors import BadInput

COMMANDS = ("lp", "lpr")
PATIENCE_S = 20
_LONGEST_WHY = 200


def keep(document: bytes, name: str) -> Path:
    """Writes the file into the papers folder. Raises BadInput where it cannot be written."""
    path = settings.data_dir() / "papers" / name
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(document)
    except OSError as fault:
        raise BadInput(f"{path} could not be written ({fault.strerror}); nothing is lost") from None
    return path


def send(path: Path, command: Sequence[str] = ()) -> str:
    """Hands the file to ``command`` (the system's own without one); gives back what was done.
    Raises BadInput with what went wrong and where the file is."""
    words = _there(command)
    try:
        done = subprocess.run(
            [*words, str(path)],
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            errors="replace",
            timeout=PATIENCE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise BadInput(
            f"the printer did not answer within {PATIENCE_S} s; the paper is kept as {path}"
        ) from None
    except OSError as fault:
        raise BadInput(
            f"{words[0]} could not be run ({fault.strerror}); the paper is kept as {path}"
        ) from None
    if done.returncode:
        why = " ".join(done.stderr.split())[:_LONGEST_WHY] or "no reason given"
        raise BadInput(f"the printer refused it: {why}; the paper is kept as {path}")
    return f"sent to the printer with {words[0]}; kept as {path}"


def _there(command: Sequence[str]) -> Sequence[str]:
    """The words of the command; the first of the system's own that is installed."""
    if command:
        return command
    found = next((name for name in COMMANDS if shutil.which(name)), None)
    return (found,) if found else (COMMANDS[0],)
