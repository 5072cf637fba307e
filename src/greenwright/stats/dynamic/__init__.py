"""A hierarchical dynamic linear model of one outcome over units and days, with responses."""

from greenwright.stats.dynamic.ahead import Change, Levels, change, levels
from greenwright.stats.dynamic.effects import EffectDraws, Effects, effect_draws, effects
from greenwright.stats.dynamic.fitting import DynamicFit, fit_dynamic, refit
from greenwright.stats.dynamic.kernels import Held, Kernel, Pulse, Window
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

__all__ = [
    "SCALES",
    "Change",
    "Condition",
    "Covariate",
    "DynamicFit",
    "DynamicModel",
    "EffectDraws",
    "Effects",
    "Group",
    "Held",
    "Kernel",
    "Levels",
    "Pulse",
    "Readings",
    "Term",
    "Window",
    "change",
    "effect_draws",
    "effects",
    "fit_dynamic",
    "joined",
    "levels",
    "readings",
    "refit",
]
