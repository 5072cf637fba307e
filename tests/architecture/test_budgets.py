"""Sizes that keep the code readable; the exemption list may only shrink."""

from __future__ import annotations

import ast
import io
import tokenize
from pathlib import Path
from statistics import median, quantiles

from tests.architecture.sources import PACKAGE, ROOT, modules

MAX_FILE_LINES = 400
MAX_FUNCTION_LINES = 60
MAX_POSITIONAL = 4

TEST_SHARE_FLOOR = 0.82
"""Lines of test code for each line of source code. The aim is 1; this number may only rise."""

SILENT = {
    tokenize.COMMENT,
    tokenize.NL,
    tokenize.NEWLINE,
    tokenize.INDENT,
    tokenize.DEDENT,
    tokenize.ENDMARKER,
}
DOCUMENTED = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)

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


def code_lines(path: Path) -> int:
    """Count the lines that hold code: no blank line, comment or docstring."""
    text = path.read_text("utf-8")
    lines: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in SILENT:
            lines |= set(range(token.start[0], token.end[0] + 1))
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, DOCUMENTED) and ast.get_docstring(node) is not None:
            lines -= set(range(node.body[0].lineno, (node.body[0].end_lineno or 0) + 1))
    return len(lines)


def test_the_share_of_test_code_only_rises() -> None:
    source = sum(code_lines(path) for path in modules())
    tests = sum(code_lines(path) for path in (ROOT / "tests").rglob("*.py"))
    assert tests >= TEST_SHARE_FLOOR * source, f"{tests} lines of test for {source} of source"
