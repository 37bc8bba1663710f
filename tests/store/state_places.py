"""Whose states the tests make, and where."""

from __future__ import annotations

from pathlib import Path

UID = "alder-court-2027"

MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
"""A file system in memory, where a hundred small states cost no waiting for a disk."""
