"""Settings shared by all tests: property tests are repeatable and leave no files behind."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, database=None, max_examples=40)
settings.load_profile("repeatable")
