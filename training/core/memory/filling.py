"""Fill a room of whole tenths of a second with what is worth most: exactly, so that more room never buys less.

The best of two greedies (worth per second, worth) bounds the answer from below and worth per second with a last part
from above; only the few questions whose place these bounds leave open are searched, by dynamic programming.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Worths: TypeAlias = NDArray[np.float64]
Lengths: TypeAlias = NDArray[np.int64]
Places: TypeAlias = NDArray[np.intp]

_SLACK = 1e-9


def filled(worth: Worths, length: Lengths, room: int) -> Places:
    """Return the places of a set of greatest worth whose lengths add up to at most ``room``, ascending.

    Both of shape (n,); ``worth`` and ``length`` must be above 0 (ValueError). Of equal sets always the same one.
    """
    if np.any(worth <= 0.0) or np.any(length <= 0):
        raise ValueError("worths and lengths must be above 0")
    fits = np.flatnonzero(length <= room)
    if length[fits].sum() <= room:
        return fits
    worths, lengths = worth[fits], length[fits]
    if lengths.min() == lengths.max():
        best = np.argsort(-worths, kind="stable")[: room // int(lengths[0])]
        return np.sort(fits[best])
    return np.sort(fits[_searched(worths, lengths, room)])


def most_worth(worth: Worths, length: Lengths, room: int) -> float:
    """Return a worth that no set within ``room`` exceeds: by worth per second, the last one in part."""
    order = np.argsort(-worth / length, kind="stable")
    before = np.cumsum(length[order]) - length[order]
    parts = np.clip((room - before) / length[order], 0.0, 1.0)
    return float((worth[order] * parts).sum())


def _searched(worth: Worths, length: Lengths, room: int) -> Places:
    """Search where the bounds leave a choice; what surely belongs in is taken, what surely does not is left."""
    per_second = worth / length
    order = np.argsort(-per_second, kind="stable")
    ends = np.cumsum(length[order])
    last = int(np.searchsorted(ends, room, side="right"))
    rate = float(per_second[order[last]])
    greedy = max(_greedy(order, worth, length, room), _greedy(np.argsort(-worth, kind="stable"), worth, length, room))
    open_by = most_worth(worth, length, room) - greedy + _SLACK * (1.0 + greedy)
    leads = np.zeros(len(worth), dtype=bool)
    leads[order[:last]] = True
    is_open = np.abs(worth - rate * length) <= open_by
    surely = np.flatnonzero(leads & ~is_open)
    doubtful = _few_of_a_length(np.flatnonzero(is_open), worth, length, room)
    chosen = _exactly(worth[doubtful], length[doubtful], room - int(length[surely].sum()))
    return np.concatenate([surely, doubtful[chosen]])


def _greedy(order: Places, worth: Worths, length: Lengths, room: int) -> float:
    """Return the worth of taking, in this order, whatever still fits."""
    total, shortest = 0.0, int(length.min())
    for place in order.tolist():
        if length[place] <= room:
            total += float(worth[place])
            room -= int(length[place])
            if room < shortest:
                break
    return total


def _few_of_a_length(places: Places, worth: Worths, length: Lengths, room: int) -> Places:
    """Keep of each length only as many of the worthiest as fit."""
    kept = list[Places]()
    for seconds in np.unique(length[places]).tolist():
        alike = places[length[places] == seconds]
        kept.append(alike[np.argsort(-worth[alike], kind="stable")[: room // seconds]])
    return np.sort(np.concatenate(kept)) if kept else places


def _exactly(worth: Worths, length: Lengths, room: int) -> list[int]:
    """Return the places of the best set, by the best worth of every room up to this one."""
    best, taken = np.zeros(room + 1), np.zeros((len(worth), room + 1), dtype=bool)
    for place, (gain, seconds) in enumerate(zip(worth.tolist(), length.tolist(), strict=True)):
        if seconds <= room:
            with_it = best[: room + 1 - seconds] + gain
            better = with_it > best[seconds:]
            taken[place, seconds:] = better
            best[seconds:] = np.where(better, with_it, best[seconds:])
    chosen = list[int]()
    for place in range(len(worth) - 1, -1, -1):
        if taken[place, room]:
            chosen.append(place)
            room -= int(length[place])
    return chosen
