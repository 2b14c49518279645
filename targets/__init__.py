"""The targets: a deep-sky database put right, stars and bodies added, and their names."""
