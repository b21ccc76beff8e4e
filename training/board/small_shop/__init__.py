"""The exception of a workshop with too few mentors: its page, its words, and where a clearance rests on it."""
