"""Settings for every test."""

import os

from hypothesis import HealthCheck, settings

# two profiles: on a contributor's machine new examples every run; where CI is set the
# same examples every run, so that an unchanged tree passes twice
settings.register_profile("dev", deadline=None)
settings.register_profile(
    "ci", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("ci" if os.environ.get("CI") else "dev")
