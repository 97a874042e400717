"""Larger than the bed: where a piece is cut, what holds its parts together, how they lie on the bed."""
