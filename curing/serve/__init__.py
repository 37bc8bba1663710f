"""Pages and feeds over HTTP for the people of a job."""
