"""Tests of the color kernel."""
