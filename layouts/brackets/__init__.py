"""Brackets: one file for each kind, with its sizes, drawing, screws, checks and texts."""
