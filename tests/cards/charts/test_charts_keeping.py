"""A chart that was kept comes back with the same music, and without any word."""

from __future__ import annotations

import json

import pytest

from cards.charts import Chart, ChartError, from_plain, plain, read_chart
from cards.charts.forms import FORMS, form
from cards.theory.keys import Key
from tests.cards.charts.made_up import songs

ODD = (
    "| F#m7b5 . . B7(b9) | Em(maj7) | A2 | D/F# | N.C. | G13 | Bb6/9 | C7#9 | Aadd9 | Esus4 | B5 | Caug | F#dim7 |",
    "1 4 (5 1) <4 <1> b7 2-7 5/7 V/vi 1''  4",
    "Key of D\n1 4 5 1\nKey of E\n1 4 5 1",
    "{capo: 3}\n{tempo: 79.02}\n{time: 6/8}\n[Am]la [F]la [(C)]la [G/B]la",
)


def music(chart: Chart) -> list[object]:
    """Everything of a chart that is kept."""
    steps = [
        (section.name, section.key, change.numeral, change.beats, change.pushed, change.held, change.optional)
        for section, change in chart.changes
    ]
    bars = [len(section.bars) for section in chart.sections]
    own = [chart.title, chart.key, chart.capo, chart.tempo, chart.time, chart.feel, chart.options.minor_from]
    return [*own, bars, *steps]


@pytest.mark.parametrize("text", ODD)
def test_what_players_write_comes_back(text: str) -> None:
    chart = read_chart(text)
    assert chart.sections
    assert music(from_plain(json.loads(json.dumps(plain(chart))))) == music(chart)


@pytest.mark.parametrize("name", FORMS)
def test_every_form_comes_back(name: str) -> None:
    chart = form(name, Key.read("Eb"))
    assert music(from_plain(plain(chart))) == music(chart)


def test_songs_come_back_without_their_words() -> None:
    for song in songs(40, seed=3):
        kept = json.dumps(plain(read_chart(song.chordpro())))
        assert "la la" not in kept
        assert music(from_plain(json.loads(kept))) == music(read_chart(song.chordpro()))


@pytest.mark.parametrize(
    "broken",
    [{}, {"key": "H"}, {**plain(read_chart("1 4")), "sections": [{"name": "", "key": "C", "bars": [[{"root": "9"}]]}]}],
)
def test_other_data_is_refused(broken: dict[str, object]) -> None:
    with pytest.raises(ChartError, match="no kept chart"):
        from_plain(broken)
