"""Every check in one command: layers, lint, format, types, tests (``--no-tests``: not those)."""

import subprocess
import sys
import sysconfig
from pathlib import Path

HERE = Path(__file__).resolve().parent.parent
BIN = Path(sysconfig.get_path("scripts"))
CHECKS = (
    ("layers", "lint-imports"),
    ("lint", "ruff check"),
    ("format", "ruff format --check"),
    ("types", "mypy"),
    ("tests", "pytest"),
)


def main(arguments: list[str]) -> int:
    """Runs them all, even after one has failed; the exit status is that of the worst."""
    failed = []
    for name, command in CHECKS:
        if name == "tests" and "--no-tests" in arguments:
            continue
        print(f"== {name}: {command}", flush=True)  # noqa: T201 (a command speaks to its caller)
        program, *options = command.split()
        if subprocess.run([BIN / program, *options], cwd=HERE, check=False).returncode:
            failed.append(name)
    print(f"== failed: {', '.join(failed)}" if failed else "== all green")  # noqa: T201
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
