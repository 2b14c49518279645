"""Commands and options.

A command reads what was asked, calls one function of a lower room, and delivers its answer.
It raises UserError with a sentence for everything that is wrong.
"""
