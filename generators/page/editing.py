"""Changes of single keys in the text of a pack file: every other line stays as it was written.

PyYAML says where each value begins and ends, and only that much of the text is replaced. What comes
out is read again and must differ in the changed keys alone.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from copy import deepcopy
from decimal import Decimal
from typing import Any, cast

import yaml

from generators.packfile.faults import Path
from generators.packfile.loader import load

__all__ = ["EditError", "edited", "value_text"]

PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9_-]*( [A-Za-z0-9_-]+)*")
# words that some readers of YAML take for something else than text
NO_TEXT = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}
STEP = "  "  # of a block within a block, where the file shows none

Node = yaml.MappingNode | yaml.SequenceNode | yaml.ScalarNode


class EditError(ValueError):
    """The text can't be changed in place; the message is one line."""


def edited(text: str, path: Path, value: Any) -> str:
    """The text with the key at ``path`` set to ``value``; None deletes it.

    ``path``: keys from the top, places in lists from 0; one past a list's end appends. Sections
    that are lacking are added, and go where their last key does. Raises EditError."""
    before = load(text.encode())
    if not before.whole:
        raise EditError("the text is no YAML that can be changed key by key: mend it first")
    wanted = _changed(before.values, path, value)
    if wanted == _plain(before.values):
        return text
    new = _deleted(text, path) if value is None else _set(text, path, value)
    if _plain(load(new.encode()).values) != wanted:
        raise EditError(f"{'.'.join(map(str, path))} can't be changed in place: edit the text")
    return new


def value_text(value: Any) -> str:
    """A value as a pack file has it on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, str):
        if PLAIN.fullmatch(value) and value.lower() not in NO_TEXT:
            return value
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {value_text(one)}" for key, one in value.items()) + "}"
    if isinstance(value, Sequence):
        return "[" + ", ".join(value_text(one) for one in value) + "]"
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f")  # no exponent: not every reader takes one
    return json.dumps(value)


def _plain(values: Any) -> Any:
    """Tuples as lists, so that values can be compared."""
    return json.loads(json.dumps(values))


def _changed(values: Any, path: Path, value: Any) -> Any:
    """All values with one changed; sections that are left empty are deleted too."""
    top = _plain(deepcopy(values))
    at, way = top, []
    for key, below in zip(path, path[1:], strict=False):
        way.append((at, key))
        if isinstance(at, dict) and (key not in at or at[key] is None) and value is not None:
            at[key] = [] if isinstance(below, int) else {}
        if not _has(at, key):
            if value is None:
                return top
            raise EditError(f"{'.'.join(map(str, path))} is not in a section that can be changed")
        at = at[key]
    last = path[-1]
    if value is not None:
        if isinstance(at, list) and last == len(at):
            at.append(_plain(value))
        elif isinstance(at, dict) or _has(at, last):
            at[last] = _plain(value)
        else:
            raise EditError(f"{'.'.join(map(str, path))} is not in a section that can be changed")
        return top
    if not _has(at, last):
        return top
    del at[last]
    for above, key in reversed(way):
        if above[key]:
            break
        del above[key]
    return top


def _has(values: Any, key: Any) -> bool:
    if isinstance(values, dict):
        return key in values
    return isinstance(values, list) and isinstance(key, int) and 0 <= key < len(values)


# --- places in the text


def _root(text: str) -> Node | None:
    return cast("Node | None", yaml.compose(text, Loader=yaml.SafeLoader))


def _child(node: Node | None, key: Any) -> tuple[Node | None, Node | None]:
    """The key's own node (None in a list) and its value's; (None, None) where it isn't there."""
    if isinstance(node, yaml.MappingNode):
        for name, value in node.value:
            if name.value == str(key):
                return name, value
    if isinstance(node, yaml.SequenceNode) and isinstance(key, int) and key < len(node.value):
        return None, node.value[key]
    return None, None


def _is_flow(node: Node) -> bool:
    return bool(getattr(node, "flow_style", False))


def _begin(node: Node) -> int:
    return int(node.start_mark.index)


def _end(text: str, node: Node) -> int:
    """Where a value's own text ends; a block's end mark lies past what follows it."""
    if not isinstance(node, yaml.ScalarNode) and not _is_flow(node) and node.value:
        last = node.value[-1]
        return _end(text, last[1] if isinstance(last, tuple) else last)
    end = int(node.end_mark.index)
    return _begin(node) + len(text[_begin(node) : end].rstrip())


def _line_start(text: str, index: int) -> int:
    return text.rfind("\n", 0, index) + 1


def _line_end(text: str, index: int) -> int:
    """Past the line's break."""
    found = text.find("\n", index)
    return len(text) if found < 0 else found + 1


def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


# --- set


def _set(text: str, path: Path, value: Any) -> str:
    node = _root(text)
    for depth, key in enumerate(path):
        name, below = _child(node, key)
        rest = path[depth + 1 :]
        if below is None:
            return _added(text, node, key, _nested(rest, value), depth)
        empty = isinstance(below, yaml.ScalarNode)
        if not rest or empty:
            return _replaced(text, name, below, value if not rest else _nested(rest, value))
        node = below
    raise EditError("no key is named")


def _nested(path: Path, value: Any) -> Any:
    for key in reversed(path):
        value = [value] if isinstance(key, int) else {key: value}
    return value


def _replaced(text: str, name: Node | None, node: Node, value: Any) -> str:
    new = value_text(value)
    begin, end = _begin(node), _end(text, node)
    if begin == end and name is not None:  # nothing stands after the colon
        begin = end = text.index(":", _end(text, name)) + 1
    in_block = not isinstance(node, yaml.ScalarNode) and not _is_flow(node)
    if name is not None and (begin == end or in_block):
        begin = text.index(":", _end(text, name)) + 1
        new = f" {new}"
    return text[:begin] + new + text[end:]


def _added(text: str, node: Node | None, key: Any, value: Any, depth: int) -> str:
    """A new key in a mapping, or a new value at the end of a list."""
    if node is None:
        return text + _block(key, value, "", _newline(text))
    one = value_text(value) if isinstance(key, int) else f"{key}: {value_text(value)}"
    if _is_flow(node):
        end = int(node.end_mark.index) - 1
        while text[end - 1].isspace():
            end -= 1
        between = "" if not node.value else " " if text[end - 1] == "," else ", "
        return text[:end] + between + one + text[end:]
    at = _line_end(text, _end(text, node))
    newline = _newline(text)
    before = text[:at] if text[:at].endswith("\n") else text[:at] + newline
    if isinstance(node, yaml.SequenceNode):
        indent = " " * node.start_mark.column
        return before + f"{indent}- {one}{newline}" + text[at:]
    indent = " " * (node.value[0][0].start_mark.column if node.value else 0)
    new = _block(key, value, indent, newline)
    if depth == 0 and isinstance(value, Mapping):
        new = newline + new  # sections stand apart
    return before + new + text[at:]


def _block(key: Any, value: Any, indent: str, newline: str) -> str:
    """A key and its value on lines of their own; sections as blocks, all within them on a line."""
    if isinstance(value, Mapping) and value:
        lines = [f"{indent}{key}:"]
        lines += [f"{indent}{STEP}{name}: {value_text(one)}" for name, one in value.items()]
    elif isinstance(value, list) and value and isinstance(value[0], Mapping):
        lines = [f"{indent}{key}:"]
        lines += [f"{indent}{STEP}- {value_text(one)}" for one in value]
    else:
        lines = [f"{indent}{key}: {value_text(value)}"]
    return newline.join(lines) + newline


# --- delete


def _deleted(text: str, path: Path) -> str:
    node, way = _root(text), []
    for key in path:
        name, below = _child(node, key)
        if below is None or node is None:
            return text
        way.append((node, name, below))
        node = below
    while len(way) > 1 and len(way[-1][0].value) == 1:
        way.pop()  # a section's only key goes with the section
    holder, name, below = way[-1]
    if _is_flow(holder):
        return _out_of_flow(text, holder, below)
    begin, end = _begin(name or below), _end(text, below)
    if text[_line_start(text, begin) : begin].strip() and name is not None:
        if len(way) < 2:
            raise EditError("this key can't be deleted in place: edit the text")
        raise EditError("a list's entry written over several lines: edit the text")
    return text[: _line_start(text, begin)] + text[_line_end(text, end) :]


def _out_of_flow(text: str, holder: Node, below: Node) -> str:
    """A pair or value out of braces or brackets, with one of its commas."""
    spans = []
    for one in holder.value:
        first, last = one if isinstance(one, tuple) else (one, one)
        spans.append((_begin(first), _end(text, last), last))
    k = next(k for k, span in enumerate(spans) if span[2] is below)
    if k + 1 < len(spans):
        return text[: spans[k][0]] + text[spans[k + 1][0] :]
    begin = spans[k - 1][1] if k else spans[k][0]
    return text[:begin] + text[spans[k][1] :]
