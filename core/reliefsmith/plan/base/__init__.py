"""The base: its outline, its color, and what of the picture is to be seen on it."""
