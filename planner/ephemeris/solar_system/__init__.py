"""What is on and around the Moon and the planets: light, features, moons, rings, phases.

Places in the sky are one floor up, in ``planner.ephemeris``.
"""
