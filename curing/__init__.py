"""Decide for every wall face what may be done today and what must wait."""

import zoneinfo

__version__ = "0.1.0"

# The package tzdata is the only zone source: the system's own data may differ from it.
zoneinfo.reset_tzpath(to=())
