"""The enclosure that follows its contents: outline of cells and rooms closed by a ball."""
