"""The moves of an observer: looks, times, targets and clouds; each gives a new state and words.

A move takes the night, the state and the time. What passes without a move belongs in
``planner.session.clock``.
"""
