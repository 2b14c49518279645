"""What stands beside the journal's database, so that its damage costs nothing."""
