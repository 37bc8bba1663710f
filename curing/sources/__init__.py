"""The world in: job files, coat systems, settings."""
