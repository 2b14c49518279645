"""Where things are and when: the DE421 file, the almanac of a night, tracks, minor bodies.

What is on and around a body is in ``solar_system``; whether a target is worth a look is not asked.
"""
