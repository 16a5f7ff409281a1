"""Shaded pictures of a finished pack: all its things, a cutaway and an exploded view."""
