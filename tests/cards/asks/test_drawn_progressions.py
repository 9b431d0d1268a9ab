"""Drawings of several chords: two a row, each by its name."""

from __future__ import annotations

import re

import pytest

from cards.asks import Setting, answer, read_card


def _drawing(card_id: str) -> str:
    drawing = answer(read_card(card_id), Setting()).drawing
    assert drawing is not None
    return drawing


@pytest.mark.parametrize("card_id", ["change:G:1~4:box1", "run:G:1~6~4~5:box1", "guide-tones:G:2.7~5.7~1.7:box1"])
def test_a_progression_is_drawn_two_chords_a_row_so_that_a_phone_can_show_it(card_id: str) -> None:
    assert re.findall(r'viewBox="0 0 (\d+) ', _drawing(card_id)) == ["392"]


def test_guide_tones_are_drawn_for_every_chord_by_name() -> None:
    captions = re.findall(r'class="caption"[^>]*>([^<]+)<', _drawing("guide-tones:G:2.7~5.7~1.7:box1"))
    assert captions == ["Am7", "D7", "Gmaj7"]
