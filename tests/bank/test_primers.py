"""The primers: one for each topic, in plain words with a picture, a caution and sources, and no style of its own."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories.people import PersonFactory
from training.bank.primers import PRIMERS, slug_of, template_of
from training.core.questions.kinds import Topic
from training.core.trade import limits

pytestmark = [pytest.mark.django_db]
TEMPLATES = Path(__file__).resolve().parents[2] / "training" / "templates" / "bank" / "primers"


@pytest.fixture
def reader(client: Client) -> Client:
    client.force_login(PersonFactory.create())
    return client


def shown(reader: Client, slug: str) -> str:
    answer = reader.get(reverse("bank:primer", args=[slug]))
    assert answer.status_code == 200
    return answer.content.decode()


def words_of(html: str) -> list[str]:
    main = html[html.index("<article") : html.index("</article>")]
    return unescape(re.sub(r"<[^>]+>", " ", main)).split()


def test_each_topic_has_a_primer_and_each_primer_a_topic() -> None:
    assert list(PRIMERS.values()) == list(Topic)
    assert {slug_of(topic) for topic in Topic} == {page.stem for page in TEMPLATES.glob("*.html")}
    assert len(PRIMERS) == 9


@pytest.mark.parametrize("slug", PRIMERS)
def test_a_primer_is_one_short_page_with_decisions_first_caution_and_sources(reader: Client, slug: str) -> None:
    html = shown(reader, slug)
    assert html.index("<h2>Decide") < html.index("<h2>Stop and ask when") < html.index("<h2>Why")
    assert "The vehicle maker" in html[html.index('class="caution"') :]
    assert html[html.index('class="source"') :].startswith('class="source">Source: ')
    assert 5 <= html.split("<h2>Decide")[1].split("<h2>")[0].count("<li>") <= 7
    assert 150 <= len(words_of(html)) <= 420


@pytest.mark.parametrize("slug", PRIMERS)
def test_the_picture_has_its_text_and_fits_a_phone(reader: Client, slug: str) -> None:
    article = shown(reader, slug).split("<article")[1]
    pictures = re.findall(r"<svg[^>]*>", article)
    assert len(pictures) == 1
    assert 'role="img"' in pictures[0]
    assert len(re.search(r'aria-label="([^"]+)"', pictures[0])[1]) > 40  # type: ignore[index]
    assert re.search(r'viewBox="0 0 340 \d+" width="340"', pictures[0])
    for place in re.findall(r'<(?:text|line|rect|circle)[^>]*?\b(?:x|x1|x2|cx)="(-?[\d.]+)"', article):
        assert 0 <= float(place) <= 340


@pytest.mark.parametrize("slug", PRIMERS)
def test_nothing_in_a_primer_needs_leave_from_the_content_policy(slug: str) -> None:
    text = (TEMPLATES / f"{slug}.html").read_text(encoding="utf-8")
    assert not re.search(r"\bstyle=|<style|<script|\bon\w+=|https?:", text)


@pytest.mark.parametrize("slug", PRIMERS)
def test_every_figure_that_a_primer_shows_comes_from_the_limits(reader: Client, slug: str) -> None:
    text = (TEMPLATES / f"{slug}.html").read_text(encoding="utf-8")
    assert [name for name in re.findall(r"figure\.([A-Z_0-9]+)", text) if not hasattr(limits, name)] == []
    html = shown(reader, slug)
    assert not re.search(r"(?<!\d)\s(V AC|V DC|mm|m or more|mA|minutes is)\b", html)  # a figure that came out empty


def test_a_figure_is_shown_as_it_stands_in_the_code(reader: Client) -> None:
    assert f"{limits.CUFF_MM['0'].value:g} mm or more beyond the leather" in shown(reader, "glove-care")
    assert f"{limits.QUARANTINE_M['US'].value:g} m in the US" in shown(reader, "battery-handling")


def test_the_list_leads_to_every_primer(reader: Client) -> None:
    html = reader.get(reverse("bank:primers")).content.decode()
    assert [slug for slug in PRIMERS if reverse("bank:primer", args=[slug]) not in html] == []


@pytest.mark.parametrize("slug", ["gloves", "isolation2", "acceptance"])
def test_another_name_is_not_found(reader: Client, slug: str) -> None:
    assert reader.get(f"/bank/primer/{slug}/").status_code == 404


def test_a_primer_is_only_read(reader: Client) -> None:
    assert reader.post(reverse("bank:primer", args=["isolation"])).status_code == 405
    assert reader.post(reverse("bank:primers")).status_code == 405


def test_a_stranger_signs_in_first(client: Client) -> None:
    assert client.get(reverse("bank:primer", args=["isolation"])).status_code == 302


def test_no_template_is_looked_for_by_another_name() -> None:
    with pytest.raises(KeyError):
        template_of("../base")
