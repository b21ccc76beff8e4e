"""Practical tasks watched step by step and signed."""
