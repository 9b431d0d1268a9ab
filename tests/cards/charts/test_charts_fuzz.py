"""Whatever is pasted, the reader takes it: made-up text, and mutated songs of every kind.

Files cut, spliced and bent at random are the corpus; every text must give a chart in which nothing
is lost (each word that looked like a chord is either in the bars or listed) and whose bars add up.
"""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cards.charts import Chart, ChartError, Options, decode, read_chart
from cards.charts.notation.rows import LONGEST_WORD
from cards.charts.reading.assembly import MOST_BARS
from cards.theory.keys import Key
from tests.cards.charts.made_up import songs

CORPUS = [
    *(text for song in songs(2, seed=11) for text in (song.chordpro(True), song.grid(), song.sheet())),
    "{title: Loose Ends\n{soc} [G]la [D la [C}la\n[Em]la {eoc}\n[x 0 2 2 1 0] [*riff 4x] [(D]la [G)]\n",
    "{t: Bars}\n[| Gm /// | Cm // F // |]\n{start_of_grid}\n|: G . . . | C . D . :| x3\n{end_of_grid}\n",
    "Key: Am\nV: 1 4 5 1457\nC: (1 5) 6- 2-7 | 1_5\n||: 1 | 4 |1. 5 :||2. 1 || x3\n",
    "<1> <4 1'' 4 1 . . 4 % # remark\nKey of D\n3/4 1-4-5\n",
    "I vi ii7 V7/ii | bVII | IV/V | I-IV-V\n6/8 i bVI bIII bVII\n",
    "LAm FA7+ DO/MI SOL4/7\nla la la (x2)\nRE- SI7/9\n",
    "{t: Řeka}\n{capo: 2}{key: B}\n[Hm]a [B]b [Fis]c [Es/B]d\n{chorus}\n{transpose: 2}\n",
    "{t: x}\n[D / F#]x [/B] [FC] [D-Dsus] [E/E7] [B07] [C-9] [N.C.] [%] [/] x2\n",
    "# Heading\n```\n| C/G | Am/F | - | | F |\n```\n[link](https://example.org)\n",
]
PIECES = (
    *"[]{}()|:/-_%.'<>#*\n \t◇°ø♭♯½é\u00a0\ufeff\0",
    *("[G]", "{key: ", "||:", ":||", "x2", "(x99)", "1.", "H", "SOL", "V7/", "m7b5"),
    *("{soc}", "{chorus}", "Key: ", "N.C.", "```"),
)


def check(text: str, options: Options | None = None) -> Chart:
    """Read a text and check what holds of every chart."""
    chart = read_chart(text, options)
    bars = [bar for section in chart.sections for bar in section.bars]
    assert len(bars) <= MOST_BARS + len(text)
    for bar in bars:
        assert bar
        assert all(change.beats > 0 for change in bar)
    lines = text.count("\n") + text.count("\r") + text.count("\x0b") + text.count("\x0c") + len(text.splitlines()) + 1
    for unread in chart.unread:
        assert 1 <= unread.place.line <= lines
        assert unread.place.column >= 1
        assert unread.text
    assert sum(1 for _ in chart.changes) == 0 or chart.tokens > 0
    assert [len(section["bars"]) for section in chart.as_json()["sections"]] == [
        len(section.bars) for section in chart.moved(5).sections
    ]
    for section, change in chart.changes:
        chart.sounding(section, change)
        chart.shape(section, change)
    return chart


def mutated(chance: random.Random) -> str:
    """Two texts of the corpus cut and spliced, then bent here and there."""
    one, other = chance.choice(CORPUS), chance.choice(CORPUS)
    text = one[: chance.randrange(len(one) + 1)] + other[chance.randrange(len(other) + 1) :]
    for _ in range(chance.randrange(12)):
        at = chance.randrange(len(text) + 1)
        act = chance.randrange(4)
        if act == 0:
            text = text[:at] + chance.choice(PIECES) + text[at:]
        elif act == 1:
            text = text[:at] + text[at + chance.randrange(9) :]
        elif act == 2:
            text = text[:at] + text[at : at + 20] * chance.randrange(4) + text[at:]
        else:
            character = chr(chance.choice((chance.randrange(32, 127), chance.randrange(0x2000, 0x2700))))
            text = text[:at] + character + text[at:]
    return text


@pytest.mark.parametrize("seed", range(40))
def test_mutated_songs(seed: int) -> None:
    chance = random.Random(seed)
    for _ in range(25):
        check(mutated(chance))


@given(st.text(max_size=400))
def test_any_text(text: str) -> None:
    check(text)


@given(st.lists(st.sampled_from(PIECES), max_size=60).map("".join))
def test_any_pieces(text: str) -> None:
    check(text)


@given(st.text(alphabet="1234567b#-m(x2)|/_ .':IViv\n", max_size=80), st.sampled_from(("C", "Am", "E blues", "G#")))
def test_any_numbers(text: str, key: str) -> None:
    check(text, Options(key=Key.read(key)))


@given(st.text(alphabet="ABCDEFGHm7#b/()|- {}[]:\n", max_size=120), st.sampled_from(("letters", "german", "italian")))
def test_any_names(text: str, names: str) -> None:
    check(text, Options(names=names))


@given(st.binary(max_size=300))
def test_any_bytes(data: bytes) -> None:
    try:
        text = decode(data)
    except ChartError:
        return
    check(text)


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(PIECES), st.sampled_from((*PIECES, "G ", "1 ", "la ")))
def test_the_same_thing_over_and_over(one: str, other: str) -> None:
    """Long runs of one thing, where a careless reader would go over the text again and again."""
    for text in ((one + other) * 2_000, one * 2_000 + other * 2_000):
        check(text)


@pytest.mark.parametrize(
    "text",
    ["(" * 20_000, "(G " * 9_000, "[" * 20_000, "{soc}\n{chorus}\n" * 2_000, "|: C :| x32\n" * 2_000],
    ids=["parentheses", "groups", "brackets", "choruses", "repeats"],
)
def test_nothing_grows_out_of_hand(text: str) -> None:
    chart = read_chart(text)
    assert sum(len(section.bars) for section in chart.sections) <= MOST_BARS + len(text) // 6


def test_a_word_too_long_to_be_a_chord_is_listed() -> None:
    (unread,) = read_chart("| G | " + "1-4-5" * LONGEST_WORD + " | D | Em | C |").unread
    assert unread.text.startswith("1-4-51-4-5")
