"""Learning from a record: what each practice does here, and whether the record can tell."""

from greenwright.respond.learning.drawn import learned_responses
from greenwright.respond.learning.learn import learn
from greenwright.respond.learning.learned import Chosen, Learned, LearnedOutcome, Misfit
from greenwright.respond.learning.modelling import first_day, model_of
from greenwright.respond.learning.verdicts import Verdict, verdict

__all__ = [
    "Chosen",
    "Learned",
    "LearnedOutcome",
    "Misfit",
    "Verdict",
    "first_day",
    "learn",
    "learned_responses",
    "model_of",
    "verdict",
]
