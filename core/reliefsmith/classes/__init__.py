"""A class or club: its list of names, sheets to draw on, photographs of these as rows of a batch."""
