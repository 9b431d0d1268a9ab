"""What comes more than once is written once, and what is played is still told."""

from __future__ import annotations

from cards.charts import Chart, read_chart
from cards.charts.parts import Part, Run, parts_of
from cards.theory.keys import Key

SONG = """
[Verse 1]
1 5 6- 4
[Chorus]
4 5 1 1
[Verse 2]
1 5 6- 4
[Chorus]
4 5 1 1
[Chorus]
4 5 1 1
"""


def chart(text: str) -> Chart:
    return read_chart(f"Key: Eb\n{text}")


def played(found: tuple[tuple[Part, ...], tuple[Run, ...]]) -> int:
    """How many bars are played, by the parts and their order."""
    parts, order = found
    bars = {name: len(part.bars) * part.times for part in parts for name in part.names or ("",)}
    if not order:
        return sum(len(part.bars) * part.times for part in parts)
    return sum(bars[run.name] * run.times for run in order)


def test_a_section_that_comes_again_is_written_once_under_all_its_names() -> None:
    parts, order = parts_of(chart(SONG))
    assert [part.names for part in parts] == [("Verse 1", "Verse 2"), ("Chorus",)]
    assert order == (Run("Verse 1", 1), Run("Chorus", 1), Run("Verse 2", 1), Run("Chorus", 2))
    assert played((parts, order)) == 20


def test_sections_that_are_played_through_have_no_order() -> None:
    parts, order = parts_of(chart("[Verse]\n1 4 5 1\n[Bridge]\n6- 2- 5 5"))
    assert ([part.names for part in parts], order) == ([("Verse",), ("Bridge",)], ())


def test_a_vamp_is_its_phrase_so_many_times() -> None:
    (part,), order = parts_of(chart("1 b7 " * 16))
    assert (len(part.bars), part.times, order) == (2, 16, ())


def test_two_choruses_of_a_blues_are_twelve_bars_twice() -> None:
    (part,), _ = parts_of(chart("1 1 1 1 4 4 1 1 5 4 1 5 " * 2))
    assert (len(part.bars), part.times) == (12, 2)


def test_one_chord_over_and_over_is_a_line_of_it() -> None:
    (part,), _ = parts_of(chart("1 " * 12))
    assert (len(part.bars), part.times) == (4, 3)


def test_what_fits_on_a_line_stays_as_it_is() -> None:
    (part,), _ = parts_of(chart("1 4 1 4"))
    assert (len(part.bars), part.times) == (4, 1)


def test_the_same_section_again_and_again_is_played_so_often() -> None:
    (part,), order = parts_of(chart("[Verse]\n1 4 5 1\n[Verse]\n1 4 5 1\n[Verse]\n1 4 5 1"))
    assert (part.names, part.times, order) == (("Verse",), 3, ())


def test_the_same_numbers_in_another_key_are_another_part() -> None:
    parts, _ = parts_of(chart("[Chorus]\n1 4 5 1\nKey of F\n[Chorus]\n1 4 5 1"))
    assert [part.key for part in parts] == [Key.read("Eb"), Key.read("F")]


def test_a_section_without_a_name_gets_one_beside_others() -> None:
    parts, order = parts_of(read_chart("Key: C\n1 4 5 1\n\n[Chorus]\n4 4 1 1\n\n[]\n1 4 5 1\n"))
    assert all(name for part in parts for name in part.names)
    assert played((parts, order)) == 12


def test_a_push_makes_another_bar_of_it() -> None:
    parts, _ = parts_of(chart("[Verse]\n1 4 5 1\n[Chorus]\n1 <4 5 1"))
    assert len(parts) == 2
