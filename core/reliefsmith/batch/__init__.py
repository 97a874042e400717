"""Many pieces from one table: its rows, how each is made and known to be done, and who makes them.

`rows` reads and checks the whole table before anything starts, `rowwork` makes one row as a set of its
own, `done` tells which rows are made, `ledger` notes each as it ends, `engine` hands them to processes
(`maker`) or to a `cluster`, in the order of what they share (`sharing`), and `run` is the whole of it. A row
is done when the report in its folder says that it was made of the same picture, settings and versions, and
its files are whole; so a run that was stopped goes on, and only changed rows are made again.
"""
