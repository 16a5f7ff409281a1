"""The space in the machine: what is free, what must be stayed out of."""
