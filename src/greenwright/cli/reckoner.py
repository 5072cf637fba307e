"""`greenwright reckon`: envelope calculations in any unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from greenwright.base.errors import BadInput
from greenwright.cli.options import Json
from greenwright.cli.out import done, faults, say, say_json

if TYPE_CHECKING:
    from greenwright.desk.reckon import Calculator, ReckonResult


def reckon(
    name: Annotated[str | None, typer.Argument(help="What to reckon; without it, a list.")] = None,
    values: Annotated[
        list[str] | None, typer.Argument(help='As up=8ft down="9\'6\\"".', metavar="KEY=VALUE…")
    ] = None,
    *,
    as_json: Json = False,
    units: Annotated[str, typer.Option(help="metric or us.")] = "metric",
    speed: Annotated[str, typer.Option(help="Green speed in ft or m.")] = "ft",
) -> None:
    """Reckon what an agronomist reckons on the back of an envelope."""
    with faults(as_json=as_json):
        from greenwright.desk import reckon as reckoner

        if name is None:
            every = reckoner.calculators().values()
            told = "\n".join(_line(c) for c in every)
            done(told, as_json=as_json, calculators=[_shape(c) for c in every])
            return
        chosen = reckoner.calculator(name)
        if not values:
            done(_usage(chosen), as_json=as_json, **_shape(chosen))
            return
        got = reckoner.reckon(
            name,
            _pairs(values),
            display_units=_one_of("--units", units, ("metric", "us")),
            speed_units=_one_of("--speed", speed, ("ft", "m")),
        )
        say_json(got.as_dict()) if as_json else say(_words(got))


def _pairs(values: list[str]) -> dict[str, str]:
    pairs: dict[str, str] = {}
    for text in values:
        key, equals, value = text.partition("=")
        if not equals:
            raise BadInput(f"{text!r} is not key=value", expected="as up=8ft", do="Add a =")
        if key.strip() in pairs:
            raise BadInput(f"{key.strip()} is given twice", do="Leave one out")
        pairs[key.strip()] = value
    return pairs


def _one_of(option: str, text: str, words: tuple[str, ...]) -> str:
    if text not in words:
        raise BadInput(f"{text!r} is not known", where=option, expected=" | ".join(words))
    return text


def _line(one: Calculator) -> str:
    arguments = " ".join(f"{a.name}=" if a.required else f"[{a.name}=]" for a in one.arguments)
    return f"{one.name:<18}{one.question}\n{'':<18}{arguments}"


def _usage(one: Calculator) -> str:
    rows = [
        f"  {a.name:<10}{a.label}: {a.help}{f' (default {a.default})' if a.default else ''}"
        for a in one.arguments
    ]
    example = " ".join(f'{k}="{v}"' for k, v in one.examples[0].inputs.items())
    return "\n".join(
        [
            one.question,
            *rows,
            f"Equation: {one.equation}",
            f"Holds for: {one.validity}",
            f"Example: greenwright reckon {one.name} {example}",
        ]
    )


def _shape(one: Calculator) -> dict[str, object]:
    return {
        "reckon": one.name,
        "question": one.question,
        "arguments": [
            {"name": a.name, "label": a.label, "help": a.help, "default": a.default}
            | {"required": a.required, "choices": list(a.choices), "units": list(a.units)}
            for a in one.arguments
        ],
        "results": [{"key": o.key, "label": o.label, "unit": o.unit} for o in one.outcomes],
        "equation": one.equation,
        "validity": one.validity,
        "example": dict(one.examples[0].inputs),
    }


def _words(got: ReckonResult) -> str:
    one = got.calculator
    width = max(len(o.label) for o in one.outcomes) + 2
    lines = [f"{o.label + ':':<{width}} {got.display[o.key]}" for o in one.outcomes]
    lines += [f"Note: {note}" for note in got.notes]
    lines += [f"Equation: {one.equation}", f"Holds for: {one.validity}"]
    lines += [f"From: {_source(source)}" for source in got.sources]
    return "\n".join(lines)


def _source(source: object) -> str:
    row = dict(source)  # type: ignore[call-overload]
    cited = f" {row['citation']}" if row["citation"] else ""
    return f"{row['key']} = {row['value']} {row['unit']} ({row['grade']}){cited}"


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(reckon)
