"""The self-contained report page."""
