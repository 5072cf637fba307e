"""The parts of the question golfers: the day's levels, notice, say, miss, and a picture."""
