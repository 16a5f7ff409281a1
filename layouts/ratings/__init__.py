"""What a pack may give and what guards it: wire, fuse, short circuit, load, charge, run time."""
