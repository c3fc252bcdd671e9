"""``shopdesk stores value``, ``job-cost`` and ``cores``."""

from typing import Any

COMMANDS: tuple[Any, ...] = ()
