"""A refusal is a value: a machine code, a plain sentence and the source it stands on."""

from __future__ import annotations

from dataclasses import dataclass

from training.core.trade.errors import BadInput


@dataclass(frozen=True, slots=True)
class Reason:
    """Why not. ``text`` is the sentence to translate, ``values`` fill its braces, ``source`` says why."""

    code: str
    text: str
    source: str
    values: tuple[tuple[str, str], ...] = ()

    @property
    def sentence(self) -> str:
        """The sentence in English, filled in."""
        return self.text.format(**dict(self.values))


def because(code: str, text: str, source: str, **values: object) -> Reason:
    """A Reason; numbers are written without needless digits."""
    return Reason(code, text, source, tuple((name, _written(value)) for name, value in values.items()))


def refused(problem: BadInput, source: str) -> Reason:
    """The Reason that stands for input from which nothing could be computed."""
    return because(problem.code, "{what}. {give}.", source, what=problem.what, give=problem.give)


def unknown(code: str, text: str, source: str) -> Reason:
    """A Reason for something that nobody has entered: what is not known counts as not fit."""
    return because(f"{code}_unknown", text, source)


def _written(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
