"""May this person take this job type: evidence, rule book, decision."""
