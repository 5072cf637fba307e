"""The project's own text, read once for the tests of its structure."""

from __future__ import annotations

import ast
from functools import lru_cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "greenwright"


@lru_cache(maxsize=1)
def modules() -> dict[Path, ast.Module]:
    """Return every module of the package with its syntax tree."""
    return {path: ast.parse(path.read_text("utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}


def room_of(path: Path) -> str:
    """Return the room a module stands in ('' for the package's own top files)."""
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else ""


def imported_names(tree: ast.Module) -> set[str]:
    """Return the dotted names that a module imports, wherever the import stands."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            stem = node.module or ""
            names |= {f"{stem}.{alias.name}" for alias in node.names}
    return names


def tracked_text_files() -> list[Path]:
    """Return the project's text files, without locks, vendored files and caches."""
    skip = {".git", ".venv", "__pycache__", ".pytest_cache", ".ruff_cache", ".hypothesis", "vendor"}
    endings = {".py", ".md", ".toml", ".html", ".css", ".js", ".json", ".csv", ".yml", ""}
    return [
        path
        for path in sorted(ROOT.rglob("*"))
        if path.is_file()
        and not skip & set(path.relative_to(ROOT).parts)
        and path.suffix in endings
        and not path.name.endswith((".min.js", ".lock"))
    ]
