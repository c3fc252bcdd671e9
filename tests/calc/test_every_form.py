"""Every calculation has a form: what ``calc`` offers is reached from the calculator or says why."""

import ast
from pathlib import Path

import shopdesk

PACKAGE = Path(shopdesk.__file__).parent
WITHOUT = {
    "bore.from_microinches": "roughness reads microinches as a unit",
    "bore.profile_roughness": "asks for a profile's heights: a check of method",
    "bottle.bottle_after": "what one fill takes from the record's bottle; 'bottle' says it of all",
    "fasteners.threads": "the table itself",
    "seals.section_loss": "the thin-ring formula, beside the torus that is used",
    "shelf.quarter_of": "what quarter a day lies in, for lots",
    "torque.choose_tool": "asks for the shop's own tools: the sheet's torque line",
    "torque.convert": "torque-units converts by the quantities' units",
    "torque.from_nm": "as convert",
    "torque.to_nm": "as convert",
}


def _names(tree: ast.AST) -> set[str]:
    """Every name and attribute that stands in it."""
    return {
        each.id if isinstance(each, ast.Name) else each.attr
        for each in ast.walk(tree)
        if isinstance(each, ast.Name | ast.Attribute)
    }


def _trees(folder: Path) -> dict[str, ast.Module]:
    return {file.stem: ast.parse(file.read_text("utf-8")) for file in sorted(folder.glob("*.py"))}


def test_every_calculation_is_reached_from_a_form() -> None:
    functions = {
        f"{module}.{node.name}": node
        for module, tree in _trees(PACKAGE / "calc").items()
        for node in tree.body
        if isinstance(node, ast.FunctionDef)
    }
    reached: set[str] = set()
    for tree in _trees(PACKAGE / "desk" / "calculator").values():
        reached |= _names(tree)
    found = -1
    while found < len(reached):
        found = len(reached)
        for name, node in functions.items():
            if name.partition(".")[2] in reached:
                reached |= _names(node)
    public = {name for name in functions if not name.startswith("_numeric.") and "._" not in name}
    assert len(public) > 100
    assert {name for name in public if name.partition(".")[2] not in reached} == set(WITHOUT)
