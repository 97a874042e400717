"""Lettering in the artwork: lines of letters found among the areas, and how fine they are."""
