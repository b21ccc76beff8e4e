"""Append-only records: one chain per workshop group, each fact written once and never changed."""
