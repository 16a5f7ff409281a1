"""The held core and its holders: outline, posts, tiles, barriers."""
