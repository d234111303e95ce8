"""A person's own spreadsheet: read, understood, and filled in place."""
