"""Every page in the pseudo-language: what does not come from the catalogue, and what longer words break.

The pages are looked at as the service sends them, without their scripts, with all that scripts would show later laid
open. A sentence from the catalogue stands in ⟦brackets⟧; what stands outside of them is music, a number, a key of the
keyboard, or a name that the player gave. See tests/catalogue.py.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from drill.app import create_app
from drill.config import Config
from drill.words.language import ENGLISH, PSEUDO
from tests.browser.stage import PHONE, Drill, Stage, free_port

MUSIC = re.compile(
    r"""
    [A-G][♯♭𝄪𝄫]?(?:maj|min|m|dim|aug|sus|add|alt|[°ø+Δ\d♯♭()/-])*(?:/[A-G][♯♭]?)?   # notes, keys, chords
    | [♯♭]*[ivIV]+(?:maj|[°ø])?\d*      # numerals
    | (?:maj|m|dim)\d*(?:♭5)?  # qualities
    | DO | RE | MI             # Italian notes
    | R | [a-z]                 # the root of a drawing; which of several drawings
    """,
    re.VERBOSE,
)
BLUES = re.compile(r"\b([A-G][♯♭]?) blues\b")
BRAND = "Anchor Drill"
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
"""Days of the week come from the language's own formats."""

TYPED = ("Qwxz", "Zxwq", "Xzqw", "Verse")
"""What the player gave: a jam, its place, a tune, a section of it."""
CHART = "[Verse]\n| C | F | G7 (push) | <C | C . G . | C |\n"

FOREIGN = r"""() => {
  const found = [];
  const look = (text, where, depth = 0) => {
    let outside = "";
    for (const sign of text) {
      if (sign === "⟦") depth += 1;
      else if (sign === "⟧") depth -= 1;
      else outside += depth ? "" : sign;
    }
    if (/\p{L}/u.test(outside)) found.push([outside.replace(/\s+/g, " ").trim(), where]);
    return depth;
  };
  const skipped = "script, style, kbd, [lang]:not(html), datalist, textarea";
  let depth = 0;
  const walker = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const parent = walker.currentNode.parentElement;
    if (!parent.closest(skipped)) depth = look(walker.currentNode.data, parent.outerHTML.slice(0, 120), depth);
  }
  const described = "[aria-label], [title], [placeholder], [alt], meta[name=description]";
  for (const element of document.querySelectorAll(described)) {
    for (const name of ["aria-label", "title", "placeholder", "alt", "content"]) {
      if (element.hasAttribute(name)) look(element.getAttribute(name), `${name} of ${element.outerHTML.slice(0, 120)}`);
    }
  }
  return found;
}"""
"""The texts outside of brackets that have letters, each with where it stands."""

LAID_OPEN = """() => {
  for (const element of document.querySelectorAll("[hidden]")) element.hidden = false;
  for (const element of document.querySelectorAll("details")) element.open = true;
}"""

BROKEN = r"""() => {
  const found = [], width = document.documentElement.clientWidth;
  const whole = document.scrollingElement.scrollWidth;
  if (whole > width) found.push(`the page is ${whole} wide`);
  const words = "button, a, label, legend, summary, h1, h2, h3, p, dt, dd, li, figcaption, option";
  for (const element of document.querySelectorAll(words)) {
    if (!element.checkVisibility()) continue;
    if (element.closest(".unseen, .skip, svg, .sheet-bars, .scroll, .tunes .chords-of")) continue;
    const box = element.getBoundingClientRect(), style = getComputedStyle(element);
    const text = element.textContent.trim().replace(/\s+/g, " ").slice(0, 60);
    const told = `${element.tagName} ${element.className} "${text}"`, visible = style.overflowY === "visible";
    if (box.right > width + 1) found.push(`beyond the edge: ${told}`);
    else if (style.display === "inline") continue;
    else if (element.scrollWidth > element.clientWidth + 1) found.push(`wider than its box: ${told}`);
    else if (!visible && element.scrollHeight > element.clientHeight + 1) found.push(`cut: ${told}`);
  }
  return found;
}"""
"""What is wider than the page or than its own box. A table scrolls within its own region, and the chords or titles
under an entry of a list are an excerpt of one line."""


@pytest.fixture(scope="module")
def pseudo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Drill, list[str]]]:
    """The service with a player who reads the pseudo-language, and the addresses of its pages."""
    served = Drill(tmp_path_factory.mktemp("pseudo"), free_port(), {"DRILL_LANGUAGES": f"{ENGLISH},{PSEUDO}"})
    served.start()
    served.api("PUT", "settings", {"language": PSEUDO})
    tune = served.api("POST", "tunes", {"title": TYPED[2], "text": CHART})["id"]
    jam = served.api("POST", "jams", {"name": TYPED[0], "place": TYPED[1], "at": "2027-01-02T20:00"})["id"]
    entries = [{"tune": tune, "key": "D"}, {"tune": tune}]
    served.api("PUT", f"jams/{jam}/set-list", {"was": [], "entries": entries})
    empty = served.api("POST", "jams", {"name": TYPED[0], "at": "2027-01-03T20:00"})["id"]
    pages = [
        *("/", "/session", "/session/0/closing", "/neck", "/keys", "/settings"),
        *("/jams", f"/jams/{jam}", f"/jams/{jam}/sheet", f"/jams/{jam}/sheet?capo=3&up=2", f"/jams/{empty}/sheet"),
        *("/tunes", "/tunes/new", f"/tunes/{tune}", f"/tunes/{tune}/sheet", f"/tunes/{tune}/sheet?capo=9&box=5&up=1"),
        f"/tunes/{tune}/play",
        *("/nothing", "/jams/nothing/sheet", f"/tunes/{tune}/sheet?box=9", f"/tunes/{tune}/sheet?key=Q"),
    ]
    yield served, pages
    served.stop()


@pytest.fixture
def at(stage: Callable[..., Stage], pseudo: tuple[Drill, list[str]]) -> Stage:
    """A phone that runs no scripts."""
    return stage(pseudo[0], screen=PHONE, scripts=False)


def foreign(text: str) -> str:
    """What of a text outside of brackets is neither music nor given by the player."""
    for known in (BRAND, "N.C.", *TYPED, *DAYS):
        text = text.replace(known, "")
    text = BLUES.sub(r"\1", text)
    words = re.split(r"[\s,;:·–−×?!.\"“”()]+", text)
    return " ".join(word for word in words if re.search(r"[^\W\d_]", word) and not MUSIC.fullmatch(word))


def test_every_sentence_of_a_page_is_from_the_catalogue(at: Stage, pseudo: tuple[Drill, list[str]]) -> None:
    outside: list[Any] = []
    for address in pseudo[1]:
        at.go(address)
        assert at.page.evaluate("document.documentElement.lang") == PSEUDO
        outside += [(address, words, where) for text, where in at.page.evaluate(FOREIGN) if (words := foreign(text))]
    assert outside == []


def test_longer_words_break_no_page_of_a_phone(at: Stage, pseudo: tuple[Drill, list[str]]) -> None:
    broken = []
    for address in pseudo[1]:
        at.go(address)
        at.page.evaluate(LAID_OPEN)
        broken += [(address, what) for what in at.page.evaluate(BROKEN)]
    assert broken == []
    at.page.evaluate("document.querySelector('h1').style = 'width: 2rem; white-space: nowrap'")
    assert any(what.startswith("wider than its box: H1") for what in at.page.evaluate(BROKEN))


def test_every_page_of_the_service_is_walked(pseudo: tuple[Drill, list[str]]) -> None:
    app = create_app(Config(data=pseudo[0].data))
    address = app.url_map.bind("localhost")
    walked = {
        address.match(page.partition("?")[0], return_rule=True)[0].rule for page in pseudo[1] if "nothing" not in page
    }
    pages = {
        rule.rule
        for rule in app.url_map.iter_rules()
        if "GET" in (rule.methods or ()) and not rule.rule.startswith(("/api/", "/static/"))
    }
    assert walked == pages - {"/healthz", "/offline.js"}


def test_the_choice_of_a_language_is_there_only_where_there_is_one(
    stage: Callable[..., Stage], pseudo: tuple[Drill, list[str]], drill: Drill
) -> None:
    several, one = stage(pseudo[0], scripts=False), stage(drill, scripts=False)
    several.go("/settings")
    one.go("/settings")
    assert several.page.locator("select[name=language] option").count() == 2
    assert one.page.locator("select[name=language]").count() == 0


def test_the_pages_module_says_plurals_lists_and_numbers(
    stage: Callable[..., Stage], pseudo: tuple[Drill, list[str]]
) -> None:
    at = stage(pseudo[0])
    at.go("/neck")
    told = at.page.evaluate(
        """async () => {
          const words = await import("/static/js/lib/words.js");
          return [
            words.ngettext("{count} tune", "{count} tunes", 1), words.ngettext("{count} tune", "{count} tunes", 2),
            words._("Key of {key}", { key: "E♭" }), words._("{a} and {b}", { a: "{b}", b: 1 }),
            words.sayList(["A", "B", "C"]), words.sayChoice(["A", "B"]), words.sayNumber(12345.25, 1),
            words.sayAmount(12345), words.sayDate(new Date(2026, 11, 3)),
          ];
        }"""
    )
    assert told[2:] == ["Key of E♭", "{b} and 1", "A, B and C", "A or B", "12345.3", "12,345", "3 Dec"]
    assert ("1" in told[0], "2" in told[1]) == (True, True)
