"""Learning from a record: what each practice does here, and whether the record can tell."""

from greenwright.respond.learning.learn import learn
from greenwright.respond.learning.learned import Chosen, Learned, LearnedOutcome, Misfit
from greenwright.respond.learning.modelling import first_day, model_of

__all__ = ["Chosen", "Learned", "LearnedOutcome", "Misfit", "first_day", "learn", "model_of"]
