"""Ratings and protection of a pack: wire, fuse, short circuit, load, charge, run time."""
