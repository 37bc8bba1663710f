"""Reminders: rows of what falls due, sent once on the channels people have."""
