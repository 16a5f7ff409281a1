"""Whether parts can be printed as they are drawn: what their layers show before a slicer does."""
