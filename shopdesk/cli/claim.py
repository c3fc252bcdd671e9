"""``shopdesk claim``: a unit that came back beside the job it left with."""

import click


@click.command()
@click.argument("job")
@click.option("--csv", "shape", flag_value="csv", help="One part as CSV.")
@click.option("--json", "shape", flag_value="json", help="All of it as JSON.")
@click.option("--pdf", "shape", flag_value="pdf", help="As a page to print.")
@click.option("--letter", is_flag=True, help="Letter paper instead of A4.")
@click.option(
    "--part", default="", help="readings (without it), torques, lots, taken, tools or people."
)
@click.option("--out", metavar="FILE", help="Where to put it; - is standard output.")
@click.option(
    "--database", metavar="DATABASE", help="The record; without it the one in the settings."
)
def claim(
    job: str,
    shape: str | None,
    letter: bool,
    part: str,
    out: str | None,
    database: str | None,
) -> None:
    """The claim JOB (J-1047) beside the earlier job: readings, joints, lots, tools, people."""
    from shopdesk.cli.office import deliver
    from shopdesk.cli.stores.printing import opened
    from shopdesk.desk import reports

    with opened(database) as shop:
        report = reports.make(shop, f"claim:{job}")
    deliver(report, shape, part=part, letter=letter, out=out)
