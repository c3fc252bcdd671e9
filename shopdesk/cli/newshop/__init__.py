"""``shopdesk new-shop``: from an empty database to a first job, by questions."""

from shopdesk.cli.newshop.command import new_shop

__all__ = ["new_shop"]
