"""The kit register: items, tests, pre-use checks, fitness."""
