"""Documents: what a maker shows a customer and keeps beside the printer, and the report for scripts."""
