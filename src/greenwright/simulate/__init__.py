"""An invented course with known truth, for the demo, the tutorial and the tests."""

from greenwright.simulate.course import (
    Simulated,
    Stage,
    Truth,
    ahead,
    course,
    difference,
    replay,
)
from greenwright.simulate.places import PLACES
from greenwright.simulate.practices import Act, Response
from greenwright.simulate.surface import Conditions, State, step
from greenwright.simulate.world import (
    Climate,
    Crew,
    Jump,
    Manager,
    Noise,
    Observer,
    Place,
    Surface,
    World,
)
from greenwright.simulate.write import write_record, write_truth

__all__ = [
    "PLACES",
    "Act",
    "Climate",
    "Conditions",
    "Crew",
    "Jump",
    "Manager",
    "Noise",
    "Observer",
    "Place",
    "Response",
    "Simulated",
    "Stage",
    "State",
    "Surface",
    "Truth",
    "World",
    "ahead",
    "course",
    "difference",
    "replay",
    "step",
    "write_record",
    "write_truth",
]
