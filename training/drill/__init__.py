"""Shift drills: questions drawn, answers recorded, recall kept."""
