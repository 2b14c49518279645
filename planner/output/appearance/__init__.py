"""What a target will look like in an eyepiece, as a picture: a model, not a photograph.

Light is laid out on a map first, in cd/m2 as the eye gets it; tones come after. What belongs here
turns the marks of a drawing, which know their places, into light, tones, and a file or terminal
cells.
"""
