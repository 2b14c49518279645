"""What is asked, by option or by screen: conditions, chosen targets, the journal's experience.

The command line and the text UI both stand on it; neither is known here.
"""
