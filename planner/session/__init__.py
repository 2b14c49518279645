"""A night under way: its state, the moves that change it, clouds, replanning.

No screen is known here; the desk in ``tui.night`` calls the moves.
"""
