"""A hierarchical dynamic linear model of one outcome over units and days, with responses."""

from greenwright.stats.dynamic.ahead import Change, Levels, change, contrast, levels
from greenwright.stats.dynamic.alone import alone
from greenwright.stats.dynamic.deciding import Choice, DecidedFit, Decisions, fit_decided
from greenwright.stats.dynamic.effects import EffectDraws, Effects, effect_draws, effects
from greenwright.stats.dynamic.fitting import DynamicFit, fit_dynamic, refit
from greenwright.stats.dynamic.keeping import kept
from greenwright.stats.dynamic.kernels import Held, Kernel, Pulse, Window
from greenwright.stats.dynamic.lean import lean
from greenwright.stats.dynamic.misfit import Sign, Surprises, signs, surprises
from greenwright.stats.dynamic.model import (
    SCALES,
    Condition,
    Covariate,
    DynamicModel,
    Group,
    Readings,
    Term,
    joined,
    readings,
)
from greenwright.stats.dynamic.outlook import Outlook, lengthened, only, outlook
from greenwright.stats.dynamic.separating import Separation, separate, under_need
from greenwright.stats.dynamic.settling import (
    Comparison,
    Foreseen,
    Now,
    foresee,
    smallest,
    tossed,
)

__all__ = [
    "SCALES",
    "Change",
    "Choice",
    "Comparison",
    "Condition",
    "Covariate",
    "DecidedFit",
    "Decisions",
    "DynamicFit",
    "DynamicModel",
    "EffectDraws",
    "Effects",
    "Foreseen",
    "Group",
    "Held",
    "Kernel",
    "Levels",
    "Now",
    "Outlook",
    "Pulse",
    "Readings",
    "Separation",
    "Sign",
    "Surprises",
    "Term",
    "Window",
    "alone",
    "change",
    "contrast",
    "effect_draws",
    "effects",
    "fit_decided",
    "fit_dynamic",
    "foresee",
    "joined",
    "kept",
    "lean",
    "lengthened",
    "levels",
    "only",
    "outlook",
    "readings",
    "refit",
    "separate",
    "signs",
    "smallest",
    "surprises",
    "tossed",
    "under_need",
]
