"""The clearance board: what a manager, the person concerned and a colleague read in a cell."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from html import unescape

import pytest
from django.test import Client

from tests.board.house import NOW, START, House, signed_in, stand_down, two_job_types, write
from tests.factories.people import PersonFactory
from training.bank import actions as bank
from training.bank.facts import RuleBookInForce
from training.board import actions
from training.people.models import Person
from training.records.models import Chain

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
Cells = dict[str, list[str]]


@pytest.fixture
def swept(house: House) -> House:
    actions.sweep(at=NOW)
    return house


def page(client: Client, house: House) -> str:
    response = client.get(f"/board/{house.workshop.slug}/")
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\xa0", " ")


def cells(client: Client, house: House) -> Cells:
    """Per row, by the person's short name, the words of each cell, in one line."""
    found = {}
    for row in re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", page(client, house), re.S):
        head, *rest = re.split(r"<td", row)
        name = re.sub(r"<[^>]+>", " ", head).split("apprentice")[0]
        found[" ".join(name.split()[1:])] = [
            " ".join(re.sub(r"<[^>]+>", " ", cell.split(">", 1)[1]).split()) for cell in rest
        ]
    return found


def test_a_manager_reads_until_when_to_the_minute_or_through_which_day(swept: House) -> None:
    words = cells(signed_in(swept.manager), swept)["Tina O."]
    assert words == ["may take until 26 Mar 10:30 recall: rescue", "may take through 20 Mar first aid and CPR ends"]


def test_a_manager_reads_under_whom_and_what_alone_still_lacks(swept: House) -> None:
    supervised, missing = cells(signed_in(swept.manager), swept)["Rob H."]
    assert supervised.startswith("may take under supervision of Tina O. until 26 Mar 10:30")
    assert supervised.endswith("alone: 1 missing")
    assert missing == "2 missing observation: Task 1"


def test_a_manager_reads_what_is_not_sought_and_who_is_stood_down(swept: House) -> None:
    found = cells(signed_in(swept.manager), swept)
    assert found["Nina V."][1] == "not sought 9 missing"
    assert found["Sam P."] == ["stood down until released; see the record"] * 2


def test_what_somebody_works_towards_or_is_appointed_for_is_sought(swept: House) -> None:
    swept.nina.works_towards.create(job_type="B")
    found = cells(signed_in(swept.manager), swept)
    assert found["Nina V."][1].startswith("9 missing")
    assert found["Rob H."][1].startswith("2 missing"), "appointed for B"


def test_before_anything_is_worked_out_every_cell_counts_as_not_cleared(house: House) -> None:
    for words in cells(signed_in(house.manager), house).values():
        assert words == ["being worked out counts as not cleared"] * 2


def test_a_colleague_reads_until_when_or_not_now_and_never_why(swept: House) -> None:
    found = cells(signed_in(swept.nina), swept)
    assert found["Tina O."] == ["may take until 26 Mar 10:30", "may take through 20 Mar"]
    assert found["Rob H."] == ["may take under supervision of Tina O. until 26 Mar 10:30", "not now"]
    assert found["Sam P."] == ["not now", "not now"]
    others = str([words for name, words in found.items() if name != "Nina V."])
    assert not re.search("missing|recall|stood|first aid|sought|alone", others)


def test_a_colleague_has_links_only_to_their_own_cells(swept: House) -> None:
    html = page(signed_in(swept.nina), swept)
    linked = {int(pk) for pk in re.findall(rf"/board/{swept.workshop.slug}/(\d+)/", html)}
    assert linked == {swept.nina.pk}
    assert cells(signed_in(swept.nina), swept)["Nina V."][0].startswith("4 missing"), (
        "their own row says what is missing"
    )


def test_a_manager_has_a_link_in_every_cell(swept: House) -> None:
    html = page(signed_in(swept.manager), swept)
    links = set(re.findall(rf"/board/{swept.workshop.slug}/(\d+)/([^/]+)/", html))
    people = Person.objects.filter(workshop=swept.workshop, is_active=True)
    assert links == {(str(person.pk), key) for person in people for key in ("A", "B")}


def test_an_end_within_a_fortnight_is_marked_and_a_later_one_is_safe(
    swept: House, set_clock: Callable[[datetime], None]
) -> None:
    row = r"Tina O\..*?<td class=\"(\w+)\".*?<td class=\"(\w+)\""
    assert re.search(row, page(signed_in(swept.manager), swept), re.S).groups() == ("safe", "safe")  # type: ignore[union-attr]
    set_clock(NOW + timedelta(days=8))
    assert re.search(row, page(signed_in(swept.manager), swept), re.S).groups() == ("safe", "warn")  # type: ignore[union-attr]


def test_the_board_of_a_workshop_without_a_rule_book_clears_nobody_and_says_so(house: House) -> None:
    html = page(signed_in(house.foreign_manager), replace(house, workshop=house.stranger.workshop))
    assert "nobody is cleared for anything" in html
    assert "may take" not in re.sub(r"<caption.*?</caption>", "", html, flags=re.S)


def test_a_rule_book_that_no_longer_reads_clears_nobody(swept: House) -> None:
    broken = RuleBookInForce(workshop=swept.workshop.key, version=2, book='{"version": 2}', by=swept.manager.key)
    write(swept, broken, about=swept.workshop, at=NOW)
    assert "nobody is cleared for anything" in page(signed_in(swept.manager), swept)
    assert actions.sweep(at=NOW) == 0


def test_records_that_do_not_verify_clear_nobody_and_the_page_says_so(swept: House) -> None:
    Chain.objects.filter(pk=swept.chain_id).update(first_bad_number=3)
    html = page(signed_in(swept.manager), swept)
    assert "The records do not verify" in html
    for words in cells(signed_in(swept.manager), swept).values():
        assert words == ["being worked out counts as not cleared"] * 2
    assert actions.sweep(at=NOW) == 0, "nothing that is worked out now would be believed"


def test_a_clock_behind_the_records_clears_nobody(swept: House, set_clock: Callable[[datetime], None]) -> None:
    set_clock(START)
    for words in cells(signed_in(swept.nina), swept).values():
        assert "may take" not in str(words)


def test_a_rule_book_in_force_cuts_every_cell_until_they_are_worked_out(swept: House) -> None:
    bank.put_in_force(workshop=swept.workshop, book=two_job_types(version=2), by=swept.manager, at=NOW)
    assert cells(signed_in(swept.manager), swept)["Tina O."] == ["being worked out counts as not cleared"] * 2
    actions.sweep(at=NOW)
    assert cells(signed_in(swept.manager), swept)["Tina O."][0].startswith("may take until")


def test_the_boards_of_all_sites_of_the_group_are_open_and_no_others(swept: House) -> None:
    site = PersonFactory(workshop__group=swept.workshop.group).workshop
    assert f"/board/{site.slug}/" in page(signed_in(swept.nina), swept)
    assert signed_in(swept.nina).get(f"/board/{site.slug}/").status_code == 200
    assert signed_in(swept.stranger).get(f"/board/{swept.workshop.slug}/").status_code == 404
    assert signed_in(swept.nina).get("/board/no-such-site/").status_code == 404


def test_the_board_is_read_only(swept: House) -> None:
    assert signed_in(swept.manager).post(f"/board/{swept.workshop.slug}/").status_code == 405


def test_whoever_has_left_is_not_on_the_board_and_supervises_nobody(swept: House) -> None:
    Person.objects.filter(pk=swept.tina.pk).update(is_active=False)
    found = cells(signed_in(swept.manager), swept)
    assert "Tina O." not in found
    assert found["Rob H."][0] == "being worked out counts as not cleared"


def test_the_board_asks_the_database_as_often_for_many_as_for_few(
    swept: House, django_assert_max_num_queries: Callable[..., object]
) -> None:
    for _ in range(5):
        PersonFactory(workshop=swept.workshop)
    actions.sweep(at=NOW)
    client = signed_in(swept.manager)
    with django_assert_max_num_queries(24):  # type: ignore[attr-defined]  # two of them look for jobs that have to stop
        client.get(f"/board/{swept.workshop.slug}/")


def test_a_stand_down_of_one_job_type_leaves_the_other(swept: House) -> None:
    stand_down(swept, swept.tina, job_types=["B"])
    actions.sweep(at=NOW)
    assert [words.split()[0] for words in cells(signed_in(swept.manager), swept)["Tina O."]] == ["may", "stood"]
