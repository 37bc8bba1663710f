"""Text out: calendars, plan.json, words."""
