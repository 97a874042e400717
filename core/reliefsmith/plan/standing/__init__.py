"""Standing: tongues of the base for the slots of feet."""
