"""Mutants that change no answer, each looked at: the function, what stood there, what stands there, and why."""

from __future__ import annotations

EQUIVALENT: dict[tuple[str, str, str], str] = {}
