"""Pure functions of optics, eye and sky, with units in their names and sources beside them.

Numbers and arrays in, the same out. No file, no clock, no kit; bodies of the solar system are in
``planner.ephemeris.kernel.solar_system``.
"""
