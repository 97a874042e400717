"""Strokes and gaps: what the nozzle cannot print is found, and mended only there."""
