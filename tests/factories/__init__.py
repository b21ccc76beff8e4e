"""Rows for tests, required fields only, one module per app."""
