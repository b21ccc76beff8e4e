"""What people may ask of their own records: a copy of all of them, and their erasure."""
