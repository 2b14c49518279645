"""Everything that a person or a program reads, made from the answers of the floors below.

``text`` for terminals, ``contracts`` for JSON, ``pages`` for whole files, ``drawing`` for fields
and curves, ``appearance`` for targets as they will look.
"""
