"""The spellings that the page reads are those of ``cards``, and the lists of them are fresh."""

from __future__ import annotations

import json

from cards.theory.chords import ChordError, read_chord
from tests import spellings


def test_the_table_is_what_cards_read() -> None:
    assert spellings.TABLE.read_text() == spellings.as_module(), "run python -m tests.spellings"
    assert spellings.NAMES.read_text() == spellings.as_names(), "run python -m tests.spellings"


def test_every_name_of_the_list_is_read_as_it_says() -> None:
    """The unit tests of the page read the same list."""
    names = json.loads(spellings.NAMES.read_text())
    assert len(names) > 800
    for written, printed in names:
        try:
            assert str(read_chord(written)) == printed, written
        except ChordError:
            assert printed is None, written


def test_the_table_has_the_plain_name_of_every_quality() -> None:
    assert all(suffix.replace("♭", "b").replace("°", "dim") in ways for suffix, ways in spellings.table().items())
