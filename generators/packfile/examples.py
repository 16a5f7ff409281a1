"""The example pack files that come with the tool, and the files that go with them."""

from __future__ import annotations

from importlib.resources import files

__all__ = ["FIRST", "example_files", "example_names", "example_text"]

FIRST = "orchard-trolley"  # what is made when no file is given


def example_names() -> list[str]:
    """All examples, the first one first."""
    names = [
        one.name.removesuffix(".yaml")
        for one in files("layouts.examples").iterdir()
        if one.name.endswith(".yaml")
    ]
    return sorted(names, key=lambda name: (name != FIRST, name))


def example_files() -> list[str]:
    """Whole names of all others: scripts, and lists of cells."""
    names = (one.name for one in files("layouts.examples").iterdir())
    return sorted(
        name for name in names if name.endswith((".py", ".csv")) and name != "__init__.py"
    )


def example_text(name: str) -> str:
    """An example's text, of a pack file or of another file.

    Raises KeyError naming all examples where there is none such.
    """
    known = [*example_names(), *example_files()]
    if name not in known:
        raise KeyError(", ".join(known))
    file = name if name in example_files() else f"{name}.yaml"
    return files("layouts.examples").joinpath(file).read_text(encoding="utf-8")
