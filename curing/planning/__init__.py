"""Deciding: when each coat may be laid, who tends the walls, what changed and why. Pure."""
