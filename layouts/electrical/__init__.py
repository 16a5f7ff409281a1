"""The electrical side of a planned pack: currents, ratings, fuse, wire, charge and heat."""
