"""The way to a target: from a star that the eye sees, by moves that a person can make.

Stars under tonight's sky, moves and their costs, the cheapest way, and its words belong here. What
a target is worth or when it is looked at does not.
"""
