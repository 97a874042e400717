"""A class or club: its list of names, sheets to draw on, and photographs of the sheets read as rows of a batch."""
