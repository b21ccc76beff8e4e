"""The question bank and the practical tasks: loading, versions, acceptance."""
