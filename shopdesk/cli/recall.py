"""``shopdesk recall``: from a lot, tool, procedure revision, person or period to whom to call."""

import click

from shopdesk.cli.office import deliver
from shopdesk.cli.stores.printing import delivered, opened

KINDS = ("lot", "tool", "procedure", "person", "period")


@click.command()
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("value", nargs=-1, required=True)
@delivered("units (without it) or customers.")
@click.option(
    "--failed",
    is_flag=True,
    help="Of a tool: only what its failed check puts in doubt, with corrected values.",
)
def recall(
    kind: str,
    value: tuple[str, ...],
    shape: str | None,
    letter: bool,
    part: str,
    failed: bool,
    out: str | None,
    database: str | None,
) -> None:
    """Units and customers behind VALUE.

    lot L-2041, tool W-07, procedure PA-016 D, person RT, period 2026-01-01..2026-01-31.
    """
    from shopdesk.desk import reports
    from shopdesk.errors import BadInput

    said = " ".join(value)
    if failed and kind != "tool":
        raise BadInput("--failed goes with a tool: shopdesk recall tool W-07 --failed")
    name = f"suspect:{said}" if failed else f"recall:{kind}:{said}"
    with opened(database) as shop:
        report = reports.make(shop, name)
    deliver(report, shape, part=part, letter=letter, out=out)
