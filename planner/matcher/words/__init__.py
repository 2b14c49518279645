"""What is said of a view: what speaks for a train, what to know before, what another lacks."""
