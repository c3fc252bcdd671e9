"""Bench and stores arithmetic: pure, standard library only, SI in every name."""
