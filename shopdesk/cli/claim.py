"""``shopdesk claim``: a unit that came back beside the job it left with."""

import click

from shopdesk.cli.office import deliver
from shopdesk.cli.stores.printing import delivered, opened


@click.command()
@click.argument("job")
@delivered("readings (without it), torques, lots, taken, tools or people.")
def claim(
    job: str,
    shape: str | None,
    letter: bool,
    part: str,
    out: str | None,
    database: str | None,
) -> None:
    """The claim JOB (J-1047) beside the earlier job: readings, joints, lots, tools, people."""
    from shopdesk.desk import reports

    with opened(database) as shop:
        report = reports.make(shop, f"claim:{job}")
    deliver(report, shape, part=part, letter=letter, out=out)
