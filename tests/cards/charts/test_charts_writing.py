"""A chart written as text is the same music when it is read again."""

from __future__ import annotations

import pytest

from cards.charts import Chart, read_chart
from cards.charts.forms import FORMS, form
from cards.charts.writing import AS_WRITTEN, write
from cards.theory.keys import Key
from tests.cards.charts.made_up import songs
from tests.cards.charts.test_charts_keeping import ODD

UNEVEN = (
    "{time: 5/4}\n{start_of_grid: Vamp}\n| Am'' D''' |\n{end_of_grid}",
    "| G . D | Em |\n",
    "1 (5/5 1 4 b2/b2)",
    "Verse:\n| C | F | C | G |\n\n{key: D}\nVerse:\n| D | G |",
)


def music(chart: Chart) -> list[object]:
    """What must be the same: a secondary dominant is only named otherwise."""
    bars = [
        [
            [
                (
                    change.numeral and (change.numeral.root, change.numeral.quality, change.numeral.bass),
                    round(change.beats, 3),
                    (change.pushed, change.held, change.optional),
                )
                for change in bar
            ]
            for bar in section.bars
        ]
        for section in chart.sections
    ]
    named = [(section.name, section.key) for section in chart.sections]
    return [chart.title, chart.key, chart.capo, chart.tempo, chart.time, chart.feel, named, bars]


def again(chart: Chart) -> Chart:
    """The chart written and read."""
    read = read_chart(write(chart), AS_WRITTEN)
    assert read.unread == ()
    return read


@pytest.mark.parametrize("text", [*ODD, *UNEVEN])
def test_what_players_write_is_the_same_again(text: str) -> None:
    chart = read_chart(text)
    assert music(again(chart)) == music(chart)


@pytest.mark.parametrize("key", ["C", "Bb", "Gb", "F#"])
def test_every_form_is_the_same_again(key: str) -> None:
    for name in FORMS:
        chart = form(name, Key.read(key))
        assert music(again(chart)) == music(chart), name


def test_songs_are_the_same_again_higher_and_behind_a_capo() -> None:
    for song in songs(60, seed=5):
        chart = read_chart(song.chordpro())
        for each in (chart, chart.moved(3), chart.with_capo(2)):
            assert music(again(each)) == music(each)


def test_a_change_of_key_before_a_section_counts_for_it() -> None:
    chart = read_chart("{key: C}\n[Verse]\n[C] [F]\n{key: D}\n{start_of_verse}\n[D] [G]\n{end_of_verse}")
    assert [str(section.key) for section in chart.sections] == ["C", "D"]
    assert [str(change.numeral) for _, change in chart.changes] == ["I", "IV", "I", "IV"]
