import click


@click.group()
def calc() -> None: ...
