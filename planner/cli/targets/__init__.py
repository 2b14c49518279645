"""The commands of ``fieldstop targets``: finding targets, and the user's own lists."""
