"""The pack file: read strictly, checked, and turned into a ``Pack``."""
