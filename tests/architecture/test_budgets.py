"""Sizes that keep the code readable; the exemption list may only shrink."""

from __future__ import annotations

import ast
from statistics import median, quantiles

from tests.architecture.sources import PACKAGE, ROOT, modules

MAX_FILE_LINES = 400
MAX_FUNCTION_LINES = 60
MAX_POSITIONAL = 4

EXEMPT_FUNCTIONS: frozenset[str] = frozenset()


def functions() -> list[tuple[str, ast.FunctionDef | ast.AsyncFunctionDef]]:
    return [
        (f"{path.relative_to(PACKAGE)}:{node.name}", node)
        for path, tree in modules().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]


def body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return 0 if not body else (body[-1].end_lineno or 0) - body[0].lineno + 1


def test_files_are_short() -> None:
    sizes = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in modules()}
    assert {name: n for name, n in sizes.items() if n > MAX_FILE_LINES} == {}
    assert median(n for n in sizes.values() if n > 10) <= 200


def test_function_bodies_are_short() -> None:
    sizes = {name: body_lines(node) for name, node in functions()}
    long = {n: size for n, size in sizes.items() if size > MAX_FUNCTION_LINES}
    assert set(long) - EXEMPT_FUNCTIONS == set(), long
    assert set(long) >= EXEMPT_FUNCTIONS, "an exemption is no longer needed: take it out"
    assert median(sizes.values()) <= 8
    assert quantiles(sizes.values(), n=10)[-1] <= 30


def test_few_positional_arguments() -> None:
    many = {
        name: len(node.args.posonlyargs + node.args.args)
        for name, node in functions()
        if len([a for a in node.args.posonlyargs + node.args.args if a.arg not in ("self", "cls")])
        > MAX_POSITIONAL
    }
    assert many == {}


def test_public_functions_are_typed_and_documented() -> None:
    bare = [
        name
        for name, node in functions()
        if not node.name.startswith("_")
        and (node.returns is None or (ast.get_docstring(node) is None and body_lines(node) > 3))
    ]
    assert bare == []


def test_there_is_at_least_as_much_test_as_source() -> None:
    source = sum(len(p.read_text("utf-8").splitlines()) for p in modules())
    tests = sum(len(p.read_text("utf-8").splitlines()) for p in (ROOT / "tests").rglob("*.py"))
    assert tests >= source, f"{tests} lines of test for {source} of source"
