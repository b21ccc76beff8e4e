"""The pages of people, by subject."""

from training.people.views.disputing import countersign, dispute, settle
from training.people.views.entering import appoint, appoint_mentor, confirm, paper, verify
from training.people.views.mentoring import sign_second
from training.people.views.reading import appointment, everyone, mine, person
from training.people.views.roster import change_roles, enter_leaving, join
from training.people.views.signing_in import cautions, sign_in, sign_out
from training.people.views.standing_down import release, stand_down

__all__ = [
    "appoint",
    "appointment",
    "appoint_mentor",
    "cautions",
    "change_roles",
    "confirm",
    "countersign",
    "dispute",
    "enter_leaving",
    "everyone",
    "join",
    "mine",
    "paper",
    "person",
    "release",
    "settle",
    "sign_in",
    "sign_second",
    "sign_out",
    "stand_down",
    "verify",
]
