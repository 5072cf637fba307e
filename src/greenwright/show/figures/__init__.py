"""Pictures of answers: drawn once for a laptop and once for a phone, each with its words."""
