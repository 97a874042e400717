"""Many pieces from one table: its rows, how each is made and known to be done, and who makes them.

`rows` reads and checks the whole table before anything starts, `work` makes one row as a set of its own,
`ledger` notes each row as it ends, `engine` hands rows to processes, and `run` is the whole of it. A row is
done when the report in its folder says that it was made of the same picture, settings and versions, and its
files are whole; so a run that was stopped goes on, and only changed rows are made again.
"""
