"""The parts of the answer to what the greens need to eat."""
