"""Hypothesis without a time limit: the machine may be shared, and speed is a benchmark's matter."""

from hypothesis import settings

settings.register_profile("calc", deadline=None)
settings.load_profile("calc")
