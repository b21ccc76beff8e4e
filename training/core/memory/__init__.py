"""Recall of one question by one person: how it fades, what an answer shows, what may be relied on, what is due."""
