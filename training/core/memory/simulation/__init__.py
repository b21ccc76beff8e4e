"""A crew that drills for months and forgets by another model than ours: what the floors and the composer come to."""
