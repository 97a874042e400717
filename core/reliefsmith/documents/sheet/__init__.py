"""The job sheet: one page to print by."""
