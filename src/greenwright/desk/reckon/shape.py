"""What a calculator is made of: arguments, results, a worked example and a pure function."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

Kind = Literal["quantity", "list", "choice", "unit"]
Display = Literal[
    "speed",
    "length",
    "spread",
    "velocity",
    "time",
    "slope",
    "wander",
    "index",
    "share",
    "chance",
    "count",
    "rate",
    "plain",
]


@dataclass(frozen=True, slots=True)
class Given:
    """A number in its unit, several of them, or a word (unit empty)."""

    value: float | str | tuple[float, ...]
    unit: str = ""

    @property
    def number(self) -> float:
        """Return the value as a number."""
        assert not isinstance(self.value, tuple)
        return float(self.value)

    @property
    def numbers(self) -> tuple[float, ...]:
        """Return the values of a list."""
        assert isinstance(self.value, tuple)
        return self.value

    @property
    def word(self) -> str:
        """Return the value as a word."""
        return str(self.value)


Inputs = Mapping[str, Given]


@dataclass(frozen=True, slots=True, kw_only=True)
class Argument:
    """One argument of a calculator.

    Args:
        name: as written in ``name=value``.
        label: what a form calls it.
        units: the canonical units it may come in, one for each dimension allowed; ``1`` is a
            fraction (percent is read too), ``rad`` an angle (degrees are read too).
        bare: the unit of a number written without one; empty = a unit must be written.
        low, high: inclusive range in the first canonical unit.
        default: text used when nothing is given.
        optional: may be left out; without a default the function is not given it.
        choices: the words of a choice.
        help: a sentence for someone who has not met it.
        kind: quantity | list (numbers with commas between) | choice | unit (name of a unit).
        whole: only whole numbers.
        beyond: what to do about a value outside the range.
    """

    name: str
    label: str
    help: str
    kind: Kind = "quantity"
    units: tuple[str, ...] = ()
    bare: str = ""
    low: float | None = None
    high: float | None = None
    default: str | None = None
    optional: bool = False
    choices: tuple[str, ...] = ()
    whole: bool = False
    beyond: str = "Check the number and its unit"

    @property
    def required(self) -> bool:
        """Tell whether it must be given."""
        return self.default is None and not self.optional


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One result: key, label, canonical unit, how it is shown, and the range it holds in."""

    key: str
    label: str
    unit: str
    display: Display = "plain"
    low: float | None = None
    high: float | None = None
    beyond: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedExample:
    """Inputs as a person types them, the results expected [canonical unit] and their origin."""

    inputs: Mapping[str, str]
    expected: Mapping[str, float]
    within: float
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculator:
    """One envelope calculation; command, page and notebook function are made from it.

    Args:
        name: as in ``greenwright reckon NAME``.
        title: heading of its page.
        question: what it answers, in plain words.
        arguments, outcomes: what goes in and what comes out.
        equation: the formula as text.
        validity: where it holds.
        evidence: keys it always uses; `more_evidence` gives those that depend on the inputs.
        examples: at least one worked example, each of them a test.
        compute: canonical units in, canonical units out; no other effect.
        remarks: what is worth saying about these inputs and results.
    """

    name: str
    title: str
    question: str
    arguments: tuple[Argument, ...]
    outcomes: tuple[Outcome, ...]
    equation: str
    validity: str
    examples: tuple[WorkedExample, ...]
    compute: Callable[[Inputs], Inputs]
    evidence: tuple[str, ...] = ()
    more_evidence: Callable[[Inputs], tuple[str, ...]] = lambda _: ()
    remarks: Callable[[Inputs, Inputs], tuple[str, ...]] = lambda _, __: ()
