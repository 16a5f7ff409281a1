"""Tables of the trade as data files: unit in the heading, source in the first line."""
