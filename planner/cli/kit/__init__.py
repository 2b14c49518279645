"""The commands of ``fieldstop kit``: what the kit lacks, and what to think of before buying."""
