"""What holds for all tests."""

from hypothesis import HealthCheck, settings

# Seconds are never asserted: a loaded machine is no defect.
settings.register_profile("project", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("project")
