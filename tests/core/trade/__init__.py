"""Checks of the trade core against what others publish, and its laws."""
