"""Heat: how warm cells and printed parts get, an estimate by a network of conductances."""
