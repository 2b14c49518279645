"""The vocabulary as frozen dataclasses: kit, site, night, plan, what the journal taught, errors.

Nothing is worked out here, and nothing of planner is imported but its neighbours.
"""
