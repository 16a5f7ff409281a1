"""Placing cells in an outline: lattices, rows, free spacing, and bounds on how many go in."""
