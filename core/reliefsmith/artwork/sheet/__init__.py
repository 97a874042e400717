"""Sheets of paper in photographs, found.

`seek` asks, the others stand on scikit-image and are loaded then: `sheetoutlines` and `sidelines` propose
quadrilaterals in a small copy of the picture, `sides` reads what lies along them, `bows` bends them, `refine`
measures the best at full size, `search` puts them in order and answers only where it is sure.
"""
