"""What holds for all tests."""

import os

from hypothesis import HealthCheck, settings

# Seconds are never asserted: a loaded machine is no defect. Where changes are judged (CI) the same
# examples are made up every time, so that it is the change that is judged; elsewhere new ones are.
settings.register_profile(
    "project",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    derandomize="CI" in os.environ,
)
settings.load_profile("project")
