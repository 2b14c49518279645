"""All that there is to look at, read from OpenNGC and the tables of ``targets/data``, and cleaned.

Users' own lists are in ``targets.userlists``; how names are spelled is in ``targets.naming``.
"""
