"""What a user may copy and change: coat systems, pages, starter jobs."""
