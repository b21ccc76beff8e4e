"""Recall shown to people: to the technician in curves, to the manager by the state of each topic."""
