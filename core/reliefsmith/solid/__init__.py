"""Heights on layers, and solid parts from slabs."""
