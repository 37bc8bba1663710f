"""One module a version, run in the order of their numbers; forward only."""
