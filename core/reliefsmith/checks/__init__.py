"""Checks of plan and solids, and the estimate of what the print takes."""
