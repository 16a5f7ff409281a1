"""Brackets: kinds of them, each one file that owns sizes, drawing, screws, checks and words."""
