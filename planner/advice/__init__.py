"""Before you buy: what a kit lacks, and what a candidate would change."""
