"""Shipped data of reliefsmith: fonts, filament and hardware tables, presets, the recipe schema."""
