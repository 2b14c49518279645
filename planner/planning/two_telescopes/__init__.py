"""Two telescopes at once: one observer who turns from one to the other, or two people.

The same windows, worth, matcher and order of looks as for one telescope; here is what two of them
share: the targets, the box of eyepieces, the time to find, and what comparing teaches.
"""
