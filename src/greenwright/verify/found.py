"""What an analysis of a trial finds, as values."""

from __future__ import annotations

from dataclasses import dataclass, field

VERDICTS = ("differ", "alike within the margin", "cannot tell")


@dataclass(frozen=True, slots=True)
class TermFound:
    """One term of the analysis.

    Args:
        term, stratum: which, and against whose error it is held.
        df, df_error: degrees of freedom; ss: sum of squares [unit squared] (None from REML).
        f, p: None where nothing is left for error.
        p_lot: by re-running the lot, where that was done; ways: layouts it was held against.
        verdict: one of VERDICTS; sentence: the same in words.
    """

    term: str
    stratum: str
    df: int
    df_error: float | None
    ss: float | None
    f: float | None
    p: float | None
    verdict: str = "cannot tell"
    sentence: str = ""
    p_lot: float | None = None
    ways: int | None = None
    lot_exact: bool = False


@dataclass(frozen=True, slots=True)
class MeanFound:
    """Mean of one level or combination [unit]."""

    term: str
    label: str
    n: int
    value: float
    se: float
    df: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ContrastFound:
    """A difference of two means, first minus second [unit].

    Args:
        low, high: interval that holds for all of its family at once.
        p: by itself; p_adjusted: for all of its family; method: tukey | dunnett | holm | none.
        alike, no_worse: against the margin, where one was given.
    """

    term: str
    first: str
    second: str
    value: float
    se: float
    df: float
    low: float
    high: float
    p: float
    p_adjusted: float
    method: str
    level: float
    alike: bool | None = None
    no_worse: bool | None = None

    @property
    def label(self) -> str:
        """Return the difference in words."""
        return f"{self.first} − {self.second}"


@dataclass(frozen=True, slots=True)
class Check:
    """One assumption or trap: whether it holds (None = cannot tell), and a sentence."""

    key: str
    holds: bool | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Analysis:
    """The analysis of one response of a trial.

    Args:
        method: strata | within | reml.
        how: the method in a sentence.
        terms, means, contrasts, checks: what was found.
        blocks: (stratum, df, ss, F against the stratum under it or None).
        aliased: sentences, one for each term that cannot be told.
        rows: in the file; used: analysed; missing: lines without a response.
        variances: stratum or part -> variance [unit squared].
        detectable: smallest difference of the main term seen 4 times in 5 [unit].
    """

    method: str
    how: str
    terms: tuple[TermFound, ...]
    means: tuple[MeanFound, ...]
    contrasts: tuple[ContrastFound, ...]
    checks: tuple[Check, ...]
    blocks: tuple[tuple[str, int, float, float | None], ...]
    aliased: tuple[str, ...]
    rows: int
    used: int
    missing: tuple[int, ...]
    variances: dict[str, float] = field(default_factory=dict)
    detectable: float | None = None
    residuals: tuple[float, ...] = ()
    fitted: tuple[float, ...] = ()

    def term(self, name: str) -> TermFound:
        """Return the finding of a term."""
        return next(one for one in self.terms if one.term == name)
