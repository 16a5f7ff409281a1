"""Where cells stand: lattices, blocks of groups, tiles and seams, cells placed in an outline."""
