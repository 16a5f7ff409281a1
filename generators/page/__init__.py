"""The live page: a pack file edited in a browser, planned at every change, and made."""
