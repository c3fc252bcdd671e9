"""The first procedure: from a file, or from questions."""

from pathlib import Path

from shopdesk.cli.asking import procedure as questions
from shopdesk.cli.asking import session
from shopdesk.cli.asking.asker import Asked, Asker
from shopdesk.cli.newshop import goods, tools
from shopdesk.cli.newshop.setting_up import SettingUp
from shopdesk.errors import BadInput, BadProcedure

_LATER = "later"


def adopt(up: SettingUp, *, strict: bool) -> None:
    """Asks for it and puts it in force. ``strict``: an answer of the file that no question asked
    for, and that no later step may ask for, raises BadInput before it is."""
    from shopdesk.desk.procedures import bring_in

    found = up.ask.through(lambda ask: _document(up, ask), whole=False)
    if found is None:
        up.ask.settle()
        return
    name, text, own = found
    if strict:
        _nothing_misspelt(up, text, name)
    brought = bring_in(up.shop, up.sign(), text, "", name=name, approve=True)
    where = f"{up.folder / 'procedures' / name}" if own else name
    if own:
        up.write(f"procedures/{name}", text)
    up.done(f"{brought.name} is in force; its document is {where}.")


def _nothing_misspelt(up: SettingUp, text: str, name: str) -> None:
    from shopdesk import procedure

    kinds = tools.kinds([procedure.loads(text, name=name)])
    later = (*goods.LABELS, *(f"{kind} " for kind in kinds), tools.BOTTLE)
    if left := [label for label in up.ask.unasked() if not label.startswith(later)]:
        raise BadInput(f"no question asked for {', '.join(map(repr, left[:5]))}")


def _document(up: SettingUp, ask: Asker) -> tuple[str, str, bool] | None:
    """Name and text of the document, and whether it was written from questions just now."""
    ask.head("The first procedure", "What one unit model demands, as a document of plain text.")
    words = (
        "Have you a procedure file already? Its name; Enter to begin one from questions; "
        f"{_LATER} for none yet"
    )
    file = ask.ask(Asked("procedure file", words, _file, "TP-016.toml", ""))
    if file == _LATER:
        return None
    if file:
        from shopdesk.procedure import loading

        return Path(file).name, loading.read_text(Path(file)), False
    from shopdesk import quantities

    rules = up.rules()
    degrees = quantities.text(rules.reference_k, "°C")
    found = questions.plan(ask, up.today, reference=degrees, pressure=rules.pressure_units)
    name = f"{found.model}.toml"
    return name, session.checked(found, name), True


def _file(text: str) -> str:
    from shopdesk.procedure import check

    if text.casefold() in ("", _LATER):
        return text.casefold()
    report = check(Path(text).expanduser())
    if report.procedure is None:
        more = f" (and {len(report.problems) - 1} more)" if len(report.problems) > 1 else ""
        raise BadProcedure(f"{report.problems[0]}{more}", report.problems)
    return str(Path(text).expanduser())
