"""How the command starts, and how it ends when something is wrong."""

import subprocess
import sys
from importlib.metadata import version

import click
import pytest

from shopdesk.cli import main
from shopdesk.cli.shell import Shell
from shopdesk.cli.shell import sentence as said
from shopdesk.errors import NotFound, RecordFault, Refused, ShopError, Stale

from .shell import COMMAND, own_process, run, sentence

HEAVY = ("pint", "textual", "sqlalchemy", "alembic", "fpdf", "scipy", "psycopg", "plotext")


def modules_after(statement: str) -> set[str]:
    found = subprocess.run(
        [sys.executable, "-c", f"import sys\n{statement}\nprint(*sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    return set(found.stdout.split())


def test_importing_the_command_line_loads_click_alone() -> None:
    loaded = modules_after("import shopdesk.cli")
    assert loaded.isdisjoint(HEAVY)
    ours = {name for name in loaded if name.startswith("shopdesk.")}
    assert {name for name in ours if not name.startswith("shopdesk.cli")} == {"shopdesk.errors"}


def test_the_calculator_loads_no_database_and_no_screen() -> None:
    loaded = modules_after("import shopdesk.desk.calculator")
    assert loaded.isdisjoint(HEAVY)


def test_a_calculation_loads_no_database_and_no_screen() -> None:
    loaded = modules_after(
        "from shopdesk.desk import calculator as c\n"
        "for each in c.CALCULATIONS.values(): each.run(each.example)"
    )
    assert loaded.isdisjoint(set(HEAVY) - {"pint", "scipy"})  # pint takes scipy where it is


def test_version_is_the_packages() -> None:
    result = run("--version")
    assert result.stdout == f"shopdesk {version('shopdesk')}\n"


def test_alone_it_lists_the_commands() -> None:
    result = run()
    assert result.exit_code == 0
    for name in ("open", "sample", "new", "db", "procedure", "verify", "calc"):
        assert f"\n  {name} " in result.stdout


def test_it_runs_as_a_module() -> None:
    ended = own_process("--version")
    assert (ended.returncode, ended.stdout) == (0, f"shopdesk {version('shopdesk')}\n")


@pytest.mark.parametrize("words", [("open", "a", "b"), ("calcs",), ("verify", "--fast"), ("new",)])
def test_a_wrong_command_is_one_sentence(words: tuple[str, ...]) -> None:
    assert "--help`." in sentence(run(*words), 2)


def test_every_option_of_every_command_is_explained() -> None:
    for command in _commands(main, click.Context(main)):
        for param in command.params:
            if isinstance(param, click.Option):
                assert param.help, f"{command.name} {param.opts}"


def _commands(group: click.Group, context: click.Context) -> list[click.Command]:
    found: list[click.Command] = []
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        assert command.get_short_help_str(), name
        found.append(command)
        if isinstance(command, click.Group):
            found += _commands(command, context)
    return found


def failing(fault: BaseException) -> Shell:
    @click.group(cls=Shell)
    def shell() -> None: ...

    @shell.command()
    def fail() -> None:
        raise fault

    return shell


def ending(fault: BaseException) -> tuple[int, str, str]:
    from click.testing import CliRunner

    result = CliRunner().invoke(failing(fault), ["fail"])
    return result.exit_code, result.stdout, result.stderr


@pytest.mark.parametrize(
    ("fault", "status"),
    [(ShopError("a"), 1), (NotFound("a"), 4), (Stale("a"), 5), (RecordFault("a"), 6)],
)
def test_a_fault_is_its_sentence_and_its_status(fault: ShopError, status: int) -> None:
    assert ending(fault) == (status, "", "shopdesk: a.\n")


def test_a_refusal_says_whose_move_it_is() -> None:
    fault = Refused("The vent is open.", ("vent.zero",), "the bench technician")
    assert ending(fault) == (
        3,
        "",
        "shopdesk: The vent is open. Move: the bench technician.\n",
    )
    assert said(Refused("no")) == "no."


def test_ctrl_c_is_quiet() -> None:
    assert ending(KeyboardInterrupt()) == (130, "", "\n")


def test_a_fault_of_the_program_is_a_sentence_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SHOPDESK_DEBUG", raising=False)
    status, out, err = ending(ValueError("one\ntwo"))
    assert (status, out) == (70, "")
    assert (
        err == "shopdesk: internal fault: ValueError: one two. Set SHOPDESK_DEBUG=1 to see where.\n"
    )


def test_its_traceback_is_shown_on_request(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOPDESK_DEBUG", "1")
    status, _, err = ending(ValueError("one"))
    assert status == 70
    assert err.startswith("Traceback")
    assert err.endswith("shopdesk: internal fault: ValueError: one.\n")


def test_a_broken_pipe_is_quiet() -> None:
    with subprocess.Popen(
        [*COMMAND, "procedure", "format"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as writer:
        assert writer.stdout is not None
        assert writer.stderr is not None
        writer.stdout.close()
        said_on_stderr = writer.stderr.read()
    assert said_on_stderr == b""
    assert writer.returncode == 1


def test_a_terminal_without_the_signs_still_gets_the_figures() -> None:
    words = ("calc", "charge", "--target", "90 bar", "--at", "40 C", "--gas", "20 C")
    plain = own_process(*words, PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert plain.returncode == 0
    assert "83.1 bar gauge" in plain.stdout
    as_json = own_process(*words, "--json", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert as_json.returncode == 0
    assert "\\u00b0C" in as_json.stdout
