"""The commands of ``fieldstop journal``."""
