"""The first configuration, written from the answers to a few questions."""
