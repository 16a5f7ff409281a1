"""Ways of wires: rounded lines in space, what they must keep clear of, the search for one."""
