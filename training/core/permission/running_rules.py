"""What may be written about a job where it stands: every refusal says what comes first.

Whatever goes towards danger asks that nothing holds the work up; whatever makes it quieter (stop, away, a lock on) is
always open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from training.core.permission.proving import Proving
from training.core.permission.running import (
    Counted,
    Ended,
    Event,
    HandBack,
    InsulationRead,
    Measured,
    RemovalAsked,
    Removed,
    Running,
    Started,
    Step,
    Stepped,
)
from training.core.permission.start_of_work import LONGEST
from training.core.trade.reasons import Reason, because

_PRACTICE: Final = "common practice of the trade, no source"
_LOCK: Final = "lockout principles; 29 CFR 1910.147(e)(3), (f)(3)-(4) as benchmark"
_CONTROL: Final = "EN 50110-1: the person in control of the work"
Reasons = Iterator[Reason]


def holds_up(state: Running, at: datetime, fallen: Sequence[Reason] = ()) -> tuple[Reason, ...]:
    """Why nobody works on now, the weightiest first; ``fallen`` is what was found anew of clearances and kit."""
    start = state.start
    if start is None:
        return (because("not_started", "The work has not been started.", _PRACTICE),)
    return (*stops(state, at, fallen), *_not_there(state, start))


def stops(state: Running, at: datetime, fallen: Sequence[Reason] = ()) -> tuple[Reason, ...]:
    """What ends the work until a new start of work says yes."""
    found = [
        because("record_unreadable", "Record {n} of this job cannot be read.", _PRACTICE, n=n) for n in state.unreadable
    ]
    found += [*state.stops, *fallen]
    if state.start is not None and at - state.start.at > LONGEST:
        text = "More than {hours} hours since the start of work."
        found.append(because("too_long", text, _PRACTICE, hours=int(LONGEST.total_seconds() // 3600)))
    return tuple(dict.fromkeys(found))


def refusals(
    state: Running, event: Event, *, is_manager: bool = False, fallen: Sequence[Reason] = ()
) -> tuple[Reason, ...]:
    """Every reason why this may not be written now; empty when it may."""
    if isinstance(event, Stepped) and event.step in _ALWAYS:
        return tuple(_STEPS[event.step](state, event, is_manager, fallen))
    if state.over is not None:
        return (because("over", "The job is over. Plan a new one.", _PRACTICE),)
    if state.unreadable and not (isinstance(event, Ended) and not event.closed):
        return stops(state, event.at)
    if state.start is None and not isinstance(event, (Started, Ended)):
        return holds_up(state, event.at)
    rules = _STEPS[event.step] if isinstance(event, Stepped) else _RULES[type(event)]
    return tuple(rules(state, event, is_manager, fallen))


# ---------------------------------------------------------------- who is there
def _not_there(state: Running, start: Started) -> Reasons:
    if start.lead in state.away:
        yield because("lead_away", "The person in control is away: lock and label stay.", _CONTROL)
    if state.asks_second and start.second in state.away:
        yield because("second_away", "The second person is away.", _PRACTICE)
    if start.supervisor in state.away:
        yield because("supervisor_away", "The supervisor is away.", "EAWR 1989 reg 16")


def _by_lead(state: Running, event: Event) -> Reasons:
    assert state.start is not None
    if event.by != state.start.lead:
        yield because("lead_only", "Only the person in control enters this.", _CONTROL)


def _goes_on(state: Running, event: Event, fallen: Sequence[Reason]) -> Reasons:
    """What every step of handing back asks: the lead, nothing that holds up, and readings that hold."""
    yield from _by_lead(state, event)
    yield from holds_up(state, event.at, fallen)
    assert state.start is not None
    if state.asks_proof and (state.isolated or state.start.proving is Proving.READINGS):
        yield because(
            "prove_first", "Prove first: type the readings of every pair, before anything else.", "HSE GS38; HSG85"
        )


# ---------------------------------------------------------------- start, hand-over, stop, absence
def _start(state: Running, event: Started, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    old = state.start
    if old is None:
        return
    if state.energised:
        yield because("energised", "It is re-energised: hand it back, and plan a new job.", _PRACTICE)
    if event.lead == old.lead:
        if event.by != old.lead and not is_manager:
            yield because("lead_only", "Only the person in control enters this.", _CONTROL)
        return
    yield from _takes_over(state, old, event, is_manager)


def _takes_over(state: Running, old: Started, event: Started, is_manager: bool) -> Reasons:
    """Both present: the one offers it, the other asks the start of work; or the old lead's lock is off by the rule."""
    offered = state.offered_to == event.lead and event.by == event.lead and old.lead not in state.away
    if offered or (state.lock_of(old.lead) is None and is_manager):
        return
    text = "A hand-over needs both: the lead, present, offers it by name, then the new one asks the start of work."
    yield because("not_offered", text, _LOCK)
    if state.lock_of(old.lead) is not None:
        text = "The lead's lock is still on. If they are off site, it comes off only by the written rule."
        yield because("lock_still_on", text, _LOCK)


def _offered(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _by_lead(state, event)
    if event.person in ("", event.by):
        yield because("nobody_else", "Name the other person who takes over.", _CONTROL)
    if event.by in state.away:
        yield because("away", "Who is away hands nothing over: both are present.", _LOCK)


def _stopped(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    if state.start is None or state.over is not None:
        yield because("not_running", "This job is not running.", _PRACTICE)
    if not event.says.strip():
        yield because("no_reason", "Say what was seen.", _PRACTICE)


def _away(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _on_the_job(state, event, is_manager)
    if event.person not in state.people:
        yield because("not_named", "This person is not on the job.", _PRACTICE)
    if event.person in state.away:
        yield because("away_already", "This person is away already.", _PRACTICE)


def _back(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _on_the_job(state, event, is_manager)
    if event.person not in state.away:
        yield because("not_away", "This person is not away.", _PRACTICE)


def _on_the_job(state: Running, event: Event, is_manager: bool) -> Reasons:
    if event.by not in state.people and not is_manager:
        yield because("not_on_job", "Only somebody on the job or a manager enters this.", _PRACTICE)


# ---------------------------------------------------------------- locks
def _lock_on(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _own(event)
    if not event.says.strip():
        yield because("no_lock_number", "Give the number on your lock.", _LOCK)
    if state.lock_of(event.person) is not None:
        yield because("lock_on_already", "Your lock is on already.", _LOCK)
    if event.person in state.to_tell:
        yield because(
            "not_told", "Your lock was taken off while you were away. Somebody tells you how it stands first.", _LOCK
        )
    if state.energised:
        yield because("energised", "It is re-energised: hand it back, and plan a new job.", _PRACTICE)


def _lock_off(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _own(event)
    if state.lock_of(event.person) is None:
        yield because("no_lock", "You have no lock on this job.", _LOCK)
    assert state.start is not None
    if event.person != state.start.lead:
        if state.lock_of(state.start.lead) is None:
            yield because("lock_for_lock", "Lock for lock: the lead's lock goes on before yours comes off.", _LOCK)
        return
    if len(state.locks) > 1:
        yield because("lead_last", "The lead's lock comes off last: other locks are still on.", _LOCK)
    yield from _goes_on(state, event, fallen)
    yield from _missing_to_unlock(state.back)


def _missing_to_unlock(back: HandBack) -> Reasons:
    if back.counted is None:
        yield because("not_counted", "Tools and people are not counted.", _PRACTICE)
    if back.insulation is None:
        text = "The insulation value is not typed: it is measured before the disconnect is closed."
        yield because("no_insulation", text, _PRACTICE)
    if not back.warned:
        yield because("not_warned", "Not everybody has been warned.", _LOCK)


def _own(event: Stepped) -> Reasons:
    if event.by != event.person:
        yield because("own_lock_only", "Everybody puts on and takes off their own lock, and no other.", _LOCK)


def _removal(state: Running, event: RemovalAsked, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    assert state.start is not None
    if event.by == event.owner:
        yield because("own_lock", "Your own lock you take off yourself.", _LOCK)
    if event.by != state.start.lead and not is_manager:
        yield because("lead_or_manager", "The person in control or a manager asks for this.", _LOCK)
    if state.lock_of(event.owner) is None:
        yield because("no_lock_of", "There is no lock of this person.", _LOCK)
    said = (event.certain, event.tried, event.tells)
    if not all(each.strip() for each in said):
        text = "Say how it is certain that they are off site, how they were tried, and who tells them on return."
        yield because("rule_not_kept", text, _LOCK)


def _removed(state: Running, event: Removed, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    asked = state.removal
    if asked is None or asked.owner != event.owner:
        yield because("not_asked", "Nobody has asked for this lock to be taken off.", _LOCK)
        return
    if event.by in (asked.by, asked.owner):
        yield because(
            "two_people", "A second person agrees: not the one who asked, and not the one whose lock it is.", _LOCK
        )
    if not (is_manager or asked.by_manager):
        yield because("no_manager", "One of the two is a manager.", _LOCK)
    if state.lock_of(event.owner) is None:
        yield because("no_lock_of", "There is no lock of this person.", _LOCK)


def _told(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    if event.person not in state.to_tell:
        yield because("nothing_to_tell", "This person's lock was not taken off, or they know it.", _LOCK)
    if event.by == event.person:
        yield because("told_by_another", "Somebody else tells them.", _LOCK)


# ---------------------------------------------------------------- readings, handing back, the end
def _measured(state: Running, event: Measured, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _by_lead(state, event)
    yield from holds_up(state, event.at, fallen)
    assert state.start is not None
    if state.start.proving is Proving.NOTHING or state.energised:
        yield because("nothing_to_prove", "This job asks for no readings now.", _PRACTICE)
    if state.start.proving is Proving.DEAD and state.lock_of(event.by) is None:
        yield because("lock_first", "Your own lock goes on the disconnect first.", _LOCK)


def _counted(state: Running, event: Counted, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _goes_on(state, event, fallen)
    yield from _not_energised(state)
    if event.tools_out < 0 or event.tools_out != event.tools_back:
        text = "{out} tools went in, {back} are back: find the rest first."
        yield because("tools_missing", text, _PRACTICE, out=event.tools_out, back=event.tools_back)
    if event.people_clear < len(state.busy - state.away):
        text = "{clear} people are clear, {named} are on the job."
        yield because("people_missing", text, _PRACTICE, clear=event.people_clear, named=len(state.busy - state.away))
    if not event.refitted.strip():
        yield because("not_refitted", "Say what was refitted: covers, seals, torque, bonding.", _PRACTICE)


def _insulation(state: Running, event: InsulationRead, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _goes_on(state, event, fallen)
    yield from _locked_off(state)
    if not event.instrument.strip():
        yield because("no_instrument", "It is not said with which instrument.", _PRACTICE)


def _warned(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _goes_on(state, event, fallen)
    yield from _locked_off(state)


def _locked_off(state: Running) -> Reasons:
    yield from _not_energised(state)
    if not state.isolated:
        yield because("not_isolated", "Nothing was locked off on this job.", _PRACTICE)


def _not_energised(state: Running) -> Reasons:
    if state.energised:
        yield because("energised", "It is re-energised: hand it back, and plan a new job.", _PRACTICE)


def _energised(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _goes_on(state, event, fallen)
    yield from _locked_off(state)
    if state.locks:
        yield because("locks_on", "Locks are still on: {n}. Each takes off their own.", _LOCK, n=len(state.locks))
    yield from _missing_to_unlock(state.back)


def _label_off(state: Running, event: Stepped, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    yield from _by_lead(state, event)
    if not state.energised:
        yield because("label_last", "The label comes off last, when it is re-energised.", _LOCK)


def _ended(state: Running, event: Ended, is_manager: bool, fallen: Sequence[Reason]) -> Reasons:
    if not event.says.strip():
        yield because("not_said", "Say to whom it is handed back, or why it is called off.", _PRACTICE)
    if not event.closed:
        yield from _called_off(state, is_manager)
        return
    if state.energised:  # nothing is left to go on with: what was seen since stands in the words of handing back
        yield from _by_lead(state, event)
        if not state.label_off:
            yield because("label_first", "The label comes off first.", _LOCK)
        return
    if state.start is None:
        yield from holds_up(state, event.at)
        return
    yield from _goes_on(state, event, fallen)
    if state.isolated:
        yield because("not_handed_back", "Re-energise first, and take the label off last.", _PRACTICE)
    elif state.back.counted is None:
        yield because("not_counted", "Tools and people are not counted.", _PRACTICE)


def _called_off(state: Running, is_manager: bool) -> Reasons:
    """Before the start, and after it only while nothing was locked off; what cannot be read, a manager looks into."""
    if not is_manager:
        yield because("manager_only", "A manager calls a job off.", _PRACTICE)
    if state.isolated and not state.unreadable:
        yield because("locked_off", "It was locked off: it ends by handing back.", _LOCK)


_ALWAYS: Final = frozenset({Step.STOPPED, Step.TOLD})
_STEPS: Final[Mapping[Step, Callable[[Running, Any, bool, Sequence[Reason]], Reasons]]] = {
    Step.LOCK_ON: _lock_on,
    Step.LOCK_OFF: _lock_off,
    Step.AWAY: _away,
    Step.BACK: _back,
    Step.OFFERED: _offered,
    Step.STOPPED: _stopped,
    Step.WARNED: _warned,
    Step.ENERGISED: _energised,
    Step.LABEL_OFF: _label_off,
    Step.TOLD: _told,
}
_RULES: Final[Mapping[type[Event], Callable[[Running, Any, bool, Sequence[Reason]], Reasons]]] = {
    Started: _start,
    Measured: _measured,
    Counted: _counted,
    InsulationRead: _insulation,
    RemovalAsked: _removal,
    Removed: _removed,
    Ended: _ended,
}
