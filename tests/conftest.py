"""How hard the property tests try: a sample in the ordinary run, thousands of cases in the long one."""

from hypothesis import HealthCheck, settings

settings.register_profile("ci", max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("long", settings.get_profile("ci"), max_examples=2_000)
settings.load_profile("ci")
