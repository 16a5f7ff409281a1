"""Reading spaces: outlines and meshes from files into plain arrays."""
