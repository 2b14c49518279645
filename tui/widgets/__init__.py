"""Parts of screens: each shows what it is given."""
