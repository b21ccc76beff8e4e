"""Template tags that every page may use without loading them."""

from __future__ import annotations

import json
import re

from django import template
from django.http import QueryDict
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext

register = template.Library()

DAY_GAP = re.compile(r"(?<=[0-9]) (?=[^\W\d]{3,4}\b)")

HTMX_CONFIG = {
    "includeIndicatorStyles": False,  # an inline style, which the content policy refuses
    "allowEval": False,
    "allowScriptTags": False,
    "historyCacheSize": 0,  # a phone is passed around: no page of the one before is kept in it
    "responseHandling": [
        {"code": "204", "swap": False},
        {"code": "[23]..", "swap": True},
        {"code": "400|403|404|409|422|429|500", "swap": True, "error": True},
        {"code": "...", "swap": False, "error": True},
    ],
}


@register.simple_tag
def htmx_config() -> SafeString:
    """Return the meta element that sets htmx up for a strict content policy and shows refusals."""
    return format_html('<meta name="htmx-config" content="{}">', json.dumps(HTMX_CONFIG))


@register.simple_tag(takes_context=True)
def csrf_headers(context: template.Context) -> SafeString:
    """Return hx-headers for the body element, so that htmx posts carry the token."""
    token = str(context.get("csrf_token", ""))
    return format_html("hx-headers='{}'", json.dumps({"X-CSRFToken": token}))


@register.simple_tag(takes_context=True)
def query_with(context: template.Context, **changed: object) -> str:
    """Return the page's query string with some values changed; None leaves one out."""
    query: QueryDict = context["request"].GET.copy()
    for name, value in changed.items():
        query.pop(name, None)
        if value is not None:
            query[name] = str(value)
    return f"?{query.urlencode()}"


@register.filter
def said(word: object) -> str:
    """Return a word of the house (done, prompted, life, ...) in the reader's language."""
    return gettext(str(word)) if str(word) else ""


@register.filter
def days_together(words: str) -> str:
    """Return the words with no line break between a day and its month: a date is read in one piece."""
    return DAY_GAP.sub("\u00a0", words)


@register.filter
def figure(number: float) -> str:
    """Return a number as it is written by hand: at most six decimals, and no zeros behind the last one that counts."""
    return f"{number:.6f}".rstrip("0").rstrip(".")
