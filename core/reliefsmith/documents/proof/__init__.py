"""The proof: one page in true size that a customer approves, and its figures."""
