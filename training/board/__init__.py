"""Clearances, jobs and the pages that look at everything; the only app that sees all others."""
