"""Analysis of designed comparisons: strata, mixed models, contrasts, trends, ordinal scores."""

from greenwright.stats.trials.factors import Factor, Term, factor, terms_of
from greenwright.stats.trials.strata import StrataFit, fit_strata, strata_of

__all__ = ["Factor", "StrataFit", "Term", "factor", "fit_strata", "strata_of", "terms_of"]
