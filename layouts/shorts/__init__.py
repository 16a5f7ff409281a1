"""Whether anything bare comes too near to another potential."""
