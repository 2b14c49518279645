"""Pairs of stars: their orbits, and where the companion stands at a date."""
