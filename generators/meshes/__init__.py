"""Triangle meshes from drawings."""
