"""The cell block and its holders: outline, posts, tiles, barriers."""
