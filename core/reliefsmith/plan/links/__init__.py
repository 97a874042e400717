"""One piece: what holds apart pieces of the base together."""
