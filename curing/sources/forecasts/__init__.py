"""Weather services: how each is asked, and what its answer says as hourly weather."""
