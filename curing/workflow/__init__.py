"""The passes, in order: from a job file to a saved plan and its feeds."""
