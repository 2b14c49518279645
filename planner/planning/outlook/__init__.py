"""Many nights: what is to come, and which is the best for one target or a list."""
