"""Which train shows a target best, and why.

Trains, what a target asks of them, scores, ratings and reasons. When to look is not asked here.
"""
