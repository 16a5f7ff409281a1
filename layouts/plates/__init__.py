"""One cut sheet a joint: outline, slots, tail, the current in it, and what it takes to make."""
