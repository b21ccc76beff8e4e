"""The rule books of a workshop: read in plain sentences, changed with a preview, confirmed by a second person."""
