"""Arrays in, arrays out: sun and air at a face."""
