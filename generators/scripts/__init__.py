"""Scripts of the user's that draw a bracket: run in a process of their own, their answer proven."""
