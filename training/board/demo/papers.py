"""What managers entered about people: age, instruction, certificates, appointments, stand-downs and their release."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time

from training.bank.queries import newest_tasks
from training.board.demo.house import House
from training.board.demo.reading import Certificate, Mentoring, Named, Papers, Somebody, StandDown
from training.board.demo.timeline import Event, Past
from training.core.trade.calendar import add_months
from training.people import facts
from training.people.models import Person
from training.people.standing_down import FIT_AGAIN, NOT_FIT

AGE_AT = time(7, 40)
INSTRUCTED_AT = time(8, 5)
CERTIFICATE_AT = time(8, 20)
APPOINTED_AT = time(8, 40)
CONFIRMED_AT = time(9, 0)
SECOND_SIGNED_AT = time(9, 10)
STOOD_DOWN_AT = time(13, 20)
RELEASED_AT = time(10, 10)
MEDICAL = "medical"


def events(house: House) -> Iterator[Event]:
    """Everything that was entered about everybody."""
    for one in house.story.cast.people:
        person = house.people[one.username]
        papers = house.story.papers.get(one.username, Papers())
        yield from _Desk(house, one, person).entered(papers)


class _Desk:
    """Enters the papers of one person, in the name of the manager who may."""

    def __init__(self, house: House, one: Somebody, person: Person) -> None:
        self.house, self.one, self.person = house, one, person
        self.past: Past = house.past(person.workshop)
        self.manager = house.manager_for(person)

    def entered(self, papers: Papers) -> Iterator[Event]:
        yield self._age()
        for days_ago in papers.instructed:
            yield self._instructed(days_ago)
        for certificate in papers.certificates:
            yield self._certificate(certificate)
        for named in papers.appointed:
            yield self._appointed(named)
        for mentoring in papers.mentor:
            yield from self._mentor(mentoring)
        for stand_down in papers.stood_down:
            yield from self._stood_down(stand_down)

    def _age(self) -> Event:
        day = self.past.day(self.one.joined)
        fact = facts.AgeEntered(under_18=self.one.under_18, entered_on=day, by=self.manager.key)
        return Event(at=self.past.at(self.one.joined, AGE_AT), about=self.person.key, fact=fact)

    def _instructed(self, days_ago: int) -> Event:
        fact = facts.Instructed(
            workshop=self.person.workshop.key,
            given_on=self.past.day(days_ago),
            about_what="Exits, meeting point, AED, key box, cordon, whom to ask",
            by=self.manager.key,
        )
        return Event(at=self.past.at(days_ago, INSTRUCTED_AT), about=self.person.key, fact=fact)

    def _certificate(self, told: Certificate) -> Event:
        """Seen on the day of issue, or in the first days here where it was brought along."""
        entered = min(told.issued, self.one.joined - 1)
        issued_on = self.past.day(told.issued)
        tasks = list(newest_tasks(self.person.group_id)) if told.tasks else []
        fact = facts.CertificateSeen(
            certificate=told.kind,
            issuer=told.issuer,
            issued_on=issued_on,
            through_day=add_months(issued_on, told.months),
            tasks=sorted(tasks),
            entered_on=self.past.day(entered),
            by=self.manager.key,
        )
        names = self.house.keys_of_workshops() if tasks else ()
        return Event(at=self.past.at(entered, CERTIFICATE_AT), about=self.person.key, fact=fact, names=names)

    def _appointed(self, told: Named) -> Event:
        from_day = self.past.day(told.from_day)
        ends = add_months(from_day, told.months) if told.until_in is None else self.past.day(-told.until_in)
        fact = facts.Appointed(
            job_types=list(told.job_types),
            workshop=self.person.workshop.key,
            from_day=from_day,
            through_day=ends,
            entered_on=from_day,
            reason="Cars and vans of the makes we serve; not on damaged or opened packs.",
            by=self.manager.key,
        )
        return Event(at=self.past.at(told.from_day, APPOINTED_AT), about=self.person.key, fact=fact)

    def _mentor(self, told: Mentoring) -> Iterator[Event]:
        """Written the day before by one manager, put into force and signed by another: two signatures."""
        workshop = self.house.workshops[told.at]
        past, names = self.house.past(workshop), self.house.keys_of_workshops()
        from_day, second = past.day(told.from_day), self.house.manager_for(self.manager)
        fact = facts.MentorAppointed(
            tasks=list(newest_tasks(self.person.group_id)),
            workshop=workshop.key,
            from_day=from_day,
            through_day=add_months(from_day, told.months),
            entered_on=past.day(told.from_day + 1),
            reason="Opening of the workshop: outside course names the tasks.",
            by=self.manager.key,
        )
        written = Event(at=past.at(told.from_day + 1, APPOINTED_AT), about=self.person.key, fact=fact, names=names)
        yield written
        yield Event(
            at=past.at(told.from_day, CONFIRMED_AT),
            about=self.person.key,
            fact=lambda number: facts.Confirmed(record=number, confirmed_on=from_day, by=second.key),
            names=names,
            of=(written,),
        )
        yield Event(
            at=past.at(told.from_day, SECOND_SIGNED_AT),
            about=self.person.key,
            fact=lambda number: facts.SecondSigned(record=number, signed_on=from_day, by=second.key),
            names=names,
            of=(written,),
        )

    def _stood_down(self, told: StandDown) -> Iterator[Event]:
        fact = facts.StoodDown(
            job_types=None,
            reason=NOT_FIT if told.medical else told.reason,
            medical=told.medical,
            by=self.house.people[told.by].key,
            cause=MEDICAL if told.medical else told.cause,
        )
        written = Event(at=self.past.at(told.days_ago, STOOD_DOWN_AT), about=self.person.key, fact=fact)
        yield written
        if told.released_by:
            by = self.house.people[told.released_by].key
            answered = self._certificate(
                Certificate(kind=MEDICAL, issuer=told.answered_by, issued=told.released, months=36)
            )
            yield answered
            yield Event(
                at=self.past.at(told.released, RELEASED_AT),
                about=self.person.key,
                fact=lambda down, answer: facts.Released(record=down, reason=FIT_AGAIN, by=by, evidence=[answer]),
                of=(written, answered),
            )
