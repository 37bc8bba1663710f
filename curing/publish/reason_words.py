"""Sentences of the catalogue: reason."""

from __future__ import annotations

from collections.abc import Mapping

REASONS: Mapping[str, str] = {}
