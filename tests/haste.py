"""What a run does thousands of times, done at its least."""

from argon2 import PasswordHasher

# What a guess at a secret costs is asked in `tests/people/test_secrets.py`.
LEAST = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
