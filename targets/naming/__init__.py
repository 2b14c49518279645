"""Names and designations: how they are spelled, found and shown."""
