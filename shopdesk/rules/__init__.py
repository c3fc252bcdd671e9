"""Pure decisions on frozen values: what a sheet asks next, verdicts, gates, stock policy."""
