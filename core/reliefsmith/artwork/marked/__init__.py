"""A class's sheet in a photograph, by its four marks and its number.

Marks are found in a small copy (`squares`), where they must stand is then measured along their edges and the
field's line at full size (`placing`), and the cells of the number are read there (`numbering`).
"""
