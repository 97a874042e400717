"""What is made of finished sets: beds, quotes, contact pages, and whether files are those approved.

`finished` reads and verifies sets, `beds` lays them and `bedfiles` writes that, `prices` reckons and
`quotefiles` writes that, `contact` draws all proofs small, `signed` takes digests anew. A set of `make` and
a row of a batch are the same here.
"""
