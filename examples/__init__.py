"""Invented jobs that run. A package only so that they travel with the program, for ``curing serve --demo``."""
