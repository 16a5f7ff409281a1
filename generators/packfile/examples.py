"""The example pack files that come with the tool."""

from __future__ import annotations

from importlib.resources import files

__all__ = ["FIRST", "example_names", "example_text"]

FIRST = "orchard-trolley"  # what is made when no file is given


def example_names() -> list[str]:
    """All examples, the first one first."""
    names = [
        one.name.removesuffix(".yaml")
        for one in files("layouts.examples").iterdir()
        if one.name.endswith(".yaml")
    ]
    return sorted(names, key=lambda name: (name != FIRST, name))


def example_text(name: str) -> str:
    """An example's text. Raises KeyError naming all examples where there is none such."""
    if name not in example_names():
        raise KeyError(", ".join(example_names()))
    return files("layouts.examples").joinpath(f"{name}.yaml").read_text(encoding="utf-8")
