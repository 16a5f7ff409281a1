"""The tool's version, in one place for the command line, result.json and the build."""

from __future__ import annotations

VERSION = "0.1.0"  # the same as in pyproject.toml; a test holds them together
