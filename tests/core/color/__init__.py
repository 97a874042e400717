"""Tests of separating pictures into flat colors."""
