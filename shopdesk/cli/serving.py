"""``shopdesk serve``: the app in a browser, for a tablet at the bench."""

import os
import sys

import click

HOST = "127.0.0.1"
PORT = 8470


@click.command()
@click.argument("database", required=False)
@click.option("--host", default=HOST, show_default=True, help="Address to listen on.")
@click.option(
    "--port", default=PORT, show_default=True, type=click.IntRange(1, 65535), help="Its port."
)
def serve(database: str | None, host: str, port: int) -> None:
    """Offer the app to browsers on this computer, or with --host to others.

    Each browser is a terminal of its own: it gets a name that it keeps, and people sign as at any
    other. Nothing is encrypted here: where others can listen, put a proxy with TLS in front.
    """
    from shopdesk import settings
    from shopdesk.cli.opening import require_file

    url = settings.database_url(database)
    require_file(url)
    os.environ[settings.DATABASE] = url  # not on the command lines that `ps` shows
    from shopdesk.cli.browser import LOCAL, BrowserServer

    if host not in LOCAL:
        click.echo(
            f"Whoever reaches {host} can read the shop's lists, and record with a PIN. The way "
            "is not encrypted; put a proxy with TLS and its own sign-in in front of it.",
            err=True,
        )
    BrowserServer(f"{sys.executable} -m shopdesk open", host, port).serve()
