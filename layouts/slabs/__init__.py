"""Bodies as stacks of slabs: regions of the plan cut against each other once; no CAD kernel."""
