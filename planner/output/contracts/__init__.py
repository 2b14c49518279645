"""The JSON that other programs may rely on, with the name of its schema in each answer.

Under a schema number a key is never renamed or removed, and never changes its meaning, its unit or
its type. New keys may be added, so a reader passes over those that it does not know. What is
unknown is null, never 0. Any other change takes a new schema number.
"""
