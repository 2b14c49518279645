"""The name of the journal's file; apart, so that asking for it loads no database."""

FILE_NAME = "journal.sqlite"
