"""Texts that a recipe asks for, set on the piece; lettering that the artwork has is found elsewhere."""
