"""Draws cases into a file, in a process of its own: `python -m tests.mutants.draw 50000 1 cases-0`."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.mutants.cases import drawn, write

if __name__ == "__main__":
    number, sown, file = sys.argv[1:]
    write(drawn(int(number), int(sown)), Path(file))
