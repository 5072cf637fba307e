"""What the program itself can tell: its evidence, its answer schema, its version."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from greenwright.cli.options import Json
from greenwright.cli.out import faults, say, say_json

if TYPE_CHECKING:
    from greenwright.base.evidence import Evidence


def evidence(
    key: Annotated[str | None, typer.Argument(help="A key, or the beginning of several.")] = None,
    as_json: Json = False,
) -> None:
    """Print the numbers the program did not measure: unit, spread, range, grade, citation."""
    with faults(as_json=as_json):
        from greenwright.base import evidence as table

        found = [
            entry
            for name, entry in table.evidence().items()
            if key is None or name == key or name.startswith(key.rstrip(".") + ".")
        ]
        if not found and key is not None:
            found = [table.look_up(key)]
        if as_json:
            say_json({"evidence": [_row(entry) for entry in found]})
        else:
            say("\n".join(_words(entry, whole=len(found) == 1) for entry in found))


def _row(entry: Evidence) -> dict[str, object]:
    from greenwright.base.evidence import as_source

    return {
        **as_source(entry),
        "label": entry.label,
        "sd": entry.sd,
        "low": entry.low,
        "high": entry.high,
        "uncertainty": entry.uncertainty,
        "validity": entry.validity,
        "note": entry.note,
    }


def _words(entry: Evidence, *, whole: bool) -> str:
    row = _row(entry)
    head = f"{entry.key} = {row['value']} {entry.unit} ({entry.grade})"
    if not whole:
        return head
    spread = f"sd {entry.sd:g}" if entry.sd else f"{entry.low} to {entry.high}"
    known = entry.sd is not None or entry.low is not None
    rows = (
        ("what", entry.label),
        ("spread", f"{spread}, {entry.uncertainty}" if known else entry.uncertainty),
        ("holds for", entry.validity),
        ("source", entry.citation),
        ("note", entry.note),
    )
    return "\n".join([head, *(f"  {name}: {text}" for name, text in rows if text)])


def schema(as_json: Json = True) -> None:
    """Print the JSON schema that every answer obeys."""
    with faults(as_json=as_json):
        from greenwright.base.answer import answer_schema

        say_json(answer_schema())


def version(as_json: Json = False) -> None:
    """Print the version."""
    from greenwright import __version__

    say_json({"version": __version__}) if as_json else say(f"greenwright {__version__}")


def join(app: typer.Typer) -> None:
    """Add the commands."""
    for command in (evidence, schema, version):
        app.command()(command)
