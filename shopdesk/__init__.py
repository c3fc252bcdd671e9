"""shopdesk: a repair shop's job record and bench calculator."""
