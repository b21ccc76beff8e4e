"""The invented demo group: its people and months of history, written through the real chain. For the demo only."""
