"""The observer's own eye: from the looks of the journal to the eye that a plan is made for."""
