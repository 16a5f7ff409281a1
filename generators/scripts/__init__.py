"""Bracket scripts of the user: run in a separate process, their result checked."""
