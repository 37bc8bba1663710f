"""Sentences of the catalogue: terminal."""

from __future__ import annotations

from collections.abc import Mapping

TERMINAL: Mapping[str, str] = {}
