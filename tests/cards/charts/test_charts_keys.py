"""The key of a song: given, found, and how often found rightly on made-up songs."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cards.charts import Options, read_chart
from cards.charts.reading.keyfinding import find_keys
from cards.theory.chords import Chord, read_chord
from cards.theory.keys import Key
from tests.cards.charts.made_up import KEYS, Song, songs


def found(chords: str) -> str:
    return str(find_keys([[(read_chord(name), 4.0) for name in chords.split()]])[0].key)


@pytest.mark.parametrize(
    ("chords", "key"),
    [
        *(("G C D G", "G"), ("G D Em C", "G"), ("C Am F G", "C"), ("Em C G D Em", "Em"), ("Am F C G", "Am")),
        *(("Am Dm E7 Am", "Am"), ("Dm Gm A7 Dm", "Dm"), ("D C G D", "D"), ("A G D A", "A"), ("Dm7 G7 Cmaj7", "C")),
        *(("Bb Eb F Bb", "B♭"), ("Gb Cb Db Gb", "G♭"), ("F# B C# F#", "F♯"), ("G G7 C Cm G D G", "G")),
        *(("A7 D7 A7 E7 D7 A7", "A blues"), ("A D A E A", "A"), ("F#m D A E", "F♯m"), ("G A D G A D D", "D")),
    ],
)
def test_keys_that_every_player_hears(chords: str, key: str) -> None:
    assert found(chords) == key


def test_the_best_three_with_the_share_each_explains() -> None:
    chart = read_chart("| G | D | Em | C | A7 | D7 | G | G |")
    assert str(chart.keys[0].key) == "G"
    assert len(chart.keys) == 3
    assert chart.keys[0].share == pytest.approx(7 / 8)
    assert all(0 <= fit.share <= 1 and 0 <= fit.confidence <= 1 for fit in chart.keys)


def test_a_given_key_comes_first_and_can_be_overruled() -> None:
    text = "Key: D\n| G | C | D | G |"
    chart = read_chart(text)
    assert (str(chart.key), str(chart.keys[0].key), chart.key_given) == ("D", "D", True)
    called = read_chart(text, Options(key=Key.read("G")))
    assert (str(called.key), str(called.keys[0].key), called.key_given) == ("G", "G", True)
    assert [str(change.numeral) for _, change in called.changes] == ["I", "IV", "V", "I"]


def test_a_song_without_chords_has_no_keys() -> None:
    assert find_keys([]) == find_keys([[]]) == ()
    assert read_chart("nothing here").sections == ()


CHORDS = st.sampled_from(("C", "Dm", "Em7", "F", "G7", "Am", "Bb", "Fm", "Bdim"))


@given(st.lists(CHORDS, min_size=1), st.integers(0, 11))
def test_a_song_moved_up_is_found_moved_up(names: list[str], steps: int) -> None:
    song = [(read_chord(name), 4.0) for name in names]
    up = [(Chord(Key(chord.root).moved(steps).tonic, chord.quality), beats) for chord, beats in song]
    shares = {(fit.key.tonic.pitch_class, fit.key.mode): fit.share for fit in find_keys([up])}
    for fit in find_keys([song]):
        assert shares[(fit.key.tonic.pitch_class + steps) % 12, fit.key.mode] == pytest.approx(fit.share)


def agreement(made: list[Song]) -> float:
    """How often the key is found that the song was made in; the relative minor is wrong."""
    right = 0
    for song in made:
        key, declared = read_chart(song.chordpro()).key, Key.read(song.key)
        right += key.tonic.pitch_class == declared.tonic.pitch_class and key.is_minor == declared.is_minor
    return right / len(made)


def test_nine_in_ten_keys_of_made_up_songs_are_found() -> None:
    """The songs are generated with the statistics of real charts; they are not real songs."""
    assert agreement(list(songs(300, seed=3))) >= 0.9
    assert agreement(list(songs(200, seed=4, keys={key: 1 for key in KEYS if key.endswith("m")}))) >= 0.88


@pytest.mark.parametrize("song", list(songs(12, seed=9)), ids=lambda song: song.key)
def test_a_song_is_the_same_in_every_notation(song: Song) -> None:
    options = Options(key=Key.read(song.key))
    heard = []
    for text in (song.chordpro(), song.grid(), song.sheet()):
        chart = read_chart(text, options)
        assert chart.unread == ()
        heard.append([(section.name, str(chart.sounding(section, change))) for section, change in chart.changes])
    assert heard[0] == heard[1] == heard[2]
