"""Channels: ways to reach people, opened from the settings."""

from curing.remind.channels.opening import ask_alive, loose_files, open_channels

__all__ = ["ask_alive", "loose_files", "open_channels"]
