"""Tests of the documents, on jobs built by hand."""
