"""Chance in tests is fixed: the same examples in every run, on every machine."""

from hypothesis import settings

settings.register_profile("fixed", derandomize=True, deadline=None, print_blob=False)
settings.load_profile("fixed")
