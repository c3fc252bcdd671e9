"""``python -m shopdesk`` is the command ``shopdesk``."""

from shopdesk.cli import main

main(prog_name="shopdesk")
