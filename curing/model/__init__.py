"""Nouns and invariants: what a job, a coat system and a plan are."""
