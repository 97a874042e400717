"""Tests of reading pictures."""
