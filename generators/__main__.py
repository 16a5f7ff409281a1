"""``python -m generators``: the same as the command ``cellstead``."""

from __future__ import annotations

import sys

from generators.cli import main

if __name__ == "__main__":
    sys.exit(main())
