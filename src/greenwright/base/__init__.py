"""Values, vocabularies, estimates, answers and evidence: what every room speaks in."""
