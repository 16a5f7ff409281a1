"""Mutations of the project's own code: small faults put in by the operators of a library.

Only these change what a program works out: numbers, comparisons, binary and unary operators,
truth values, conditions, ``break`` and ``continue``, loops that never run. Texts, decorators and
exceptions stay. Left out are changes that Python does not act on, and those that only crash:

- annotations, decorators, what formatted texts hold, blocks for type checkers, and whether an
  argument may be given by its place;
- an arithmetic operator made one for bits, or the other way round: on floats a TypeError;
- ``is`` in the place of another comparison, which asks for an object and not for a value.
"""

from __future__ import annotations

import ast
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import MutationVisitor
from cosmic_ray.operators.provider import OperatorProvider

__all__ = ["Mutation", "all_places", "drawn", "mutated"]

ROOT = Path(__file__).parents[2]
LEFT_OUT = frozenset(
    {"ExceptionReplacer", "RemoveDecorator", "VariableReplacer", "VariableInserter"}
)
ARITHMETIC = frozenset({"Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow"})
# On sets ``-`` is an operator like those for bits.
OF_SETS = frozenset({"BitOr", "BitAnd", "BitXor", "Sub"})
Position = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Mutation:
    """One fault: the ``occurrence``-th (from 0) that an operator can put into a file."""

    file: str
    line: int
    column: int
    operator: str
    occurrence: int
    source_sha256: str


def drawn(files: list[str], number: int, seed: int) -> list[Mutation]:
    """As many mutations as wanted, none twice: a place in the code is drawn, then what it becomes.

    Each place counts once, however many operators know of it."""
    chance = random.Random(seed)
    places = all_places(files)
    left = sorted(places)
    chance.shuffle(left)
    found: list[Mutation] = []
    while left and len(found) < number:
        options = places[left.pop()]
        chance.shuffle(options)
        found += next(([o] for o in options if mutated(o) is not None), [])
    return found


def all_places(files: list[str]) -> dict[tuple[str, Position], list[Mutation]]:
    """What each place of the files (relative to the project) may become, not yet tried."""
    places: dict[tuple[str, Position], list[Mutation]] = defaultdict(list)
    for file in files:
        source = (ROOT / file).read_text(encoding="utf-8")
        nodes = list(ast_nodes(get_ast(source)))
        digest = sha256(source.encode()).hexdigest()
        for name, operator in _operators():
            positions = (p for node in nodes for p in operator().mutation_positions(node))
            for occurrence, position in enumerate(positions):
                places[file, position].append(
                    Mutation(
                        file=file,
                        line=position[0][0],
                        column=position[0][1],
                        operator=name,
                        occurrence=occurrence,
                        source_sha256=digest,
                    )
                )
    return dict(places)


def mutated(mutation: Mutation) -> str | None:
    """The file's text with the fault in it; None if it is no Python or works out the same.

    Raises ValueError if the file is no longer the one that the mutation was found in."""
    source = (ROOT / mutation.file).read_text(encoding="utf-8")
    if sha256(source.encode()).hexdigest() != mutation.source_sha256:
        raise ValueError(f"{mutation.file} has changed since its mutations were drawn")
    operator = dict(_operators())[mutation.operator]
    text: str | None = MutationVisitor.mutate_code(source, operator(), mutation.occurrence)
    if text is None:
        return None
    try:
        changed = ast.parse(text)
        compile(text, mutation.file, "exec")
    except (SyntaxError, ValueError):
        return None
    return None if _acted_on(changed) == _acted_on(ast.parse(source)) else text


def _operators() -> Iterator[tuple[str, type]]:
    provider = OperatorProvider()
    for name in provider:
        if name not in LEFT_OUT and _sensible(name):
            yield name, provider[name]


def _sensible(name: str) -> bool:
    """Whether an operator's outcome is one that somebody may write."""
    kind, _, change = name.partition("_")
    before, _, after = change.partition("_")
    if kind == "ReplaceBinaryOperator":
        return {before, after} <= ARITHMETIC or {before, after} <= OF_SETS
    if kind == "ReplaceComparisonOperator":
        return (before in ("Is", "IsNot")) == (after in ("Is", "IsNot"))
    return "Invert" not in change


def _acted_on(tree: ast.Module) -> str:
    """The program without what Python does not act on: positions, annotations, texts."""
    return ast.dump(_Bare().visit(tree))


class _Bare(ast.NodeTransformer):
    """Takes away what ``mutations`` leaves out."""

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.returns, node.decorator_list = None, []
        return self.generic_visit(node)

    def visit_ClassDef(self, node: ast.ClassDef) -> ast.AST:
        node.decorator_list = []
        return self.generic_visit(node)

    def visit_arguments(self, node: ast.arguments) -> ast.AST:
        node.args = [*node.posonlyargs, *node.args, *node.kwonlyargs]
        node.defaults = [*node.defaults, *(d for d in node.kw_defaults if d is not None)]
        node.posonlyargs, node.kwonlyargs, node.kw_defaults = [], [], []
        return self.generic_visit(node)

    def visit_arg(self, node: ast.arg) -> ast.AST:
        node.annotation = None
        return node

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        node.annotation = ast.Constant(None)
        return self.generic_visit(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> ast.AST:
        return ast.Constant("")

    def visit_If(self, node: ast.If) -> ast.AST:
        names = {part.id for part in ast.walk(node.test) if isinstance(part, ast.Name)}
        return ast.Pass() if "TYPE_CHECKING" in names else self.generic_visit(node)
