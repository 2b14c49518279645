"""The JSON that other programs may rely on.

Keys are a contract: more may be added, none changes its meaning.
"""
