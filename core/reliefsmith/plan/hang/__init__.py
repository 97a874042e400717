"""Where and how a piece hangs: its hole, handle or pocket, the strength and the balance of it."""
