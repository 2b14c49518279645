"""What there is to look at: catalogue, corrections, names."""
