"""The field of cells: lattice sites, groups, seams, tiles."""
