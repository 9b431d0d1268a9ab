"""The record of an ask: everything that the rest of the program needs to know about it.

Conventions. Each ask has a module. The module ends with the record of its ask; :mod:`cards.asks.order`
lists the records. Code outside the module reads the record and never compares names of asks.

Usual seconds. This is our estimate of how long an unpractised player takes for a right answer on a
touch screen, in seconds. It is the sum of two parts:

- Putting the answer in: the average number of actions over all cards of the ask times 1.10 s, the time
  to point at a target in the keystroke-level model (see :mod:`cards.asks`), and 0.40 s for an ask that
  is answered on the guitar, to bring the hand back to the screen.
- Thinking. The first five asks have estimates for the whole answer: *name* 4.5 s, *place* 9.0 s, *name
  and place* 12.0 s, *number* 6.5 s, *hands-on* 6.0 s. What is left of each after its actions is the time
  that the player thinks: 2.3 s to find a name, 2.9 s to find a grip, 3.7 s to find both, 5.4 s to read a
  drawing, 4.5 s to find a grip and form it on the guitar. Each other ask takes the thinking time of the
  one among the five that it resembles most; the comment at its figure names it.

A player's own answers soon outweigh the estimate (see :mod:`drill.memory.recall`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cards.asks.answers import Answer, Given, Prompt, Verdict
from cards.asks.card import Card, Setting
from cards.theory.keys import Key
from cards.voicings.voicing import Voicing

BAR = 4
"""Beats in a bar."""


def _no_cards(card: Card) -> tuple[Card, ...]:
    return ()


def _always(card: Card, setting: Setting) -> bool:
    return True


def _one_bar(card: Card) -> int:
    return BAR


@dataclass(frozen=True)
class Ask:
    """One kind of question. All its functions are pure.

    ``name`` stands first in the id of each card and never changes. ``prompts`` are the keys of the
    sentences that a question of this ask can consist of; :mod:`drill.words` has the sentences.

    ``stage`` says when a player meets the ask: 0 first, 1 right after, 2 and 3 one and two groups of
    degrees later (see :func:`cards.asks.path.path`). ``head_start`` is what the ask adds to the logit of
    an unpractised player's being right, our estimate; higher is easier. ``usual_seconds`` is explained at
    the top of this module.

    ``cards`` gives the cards of a key; ``requires`` the cards that should be settled before a card is new;
    ``answerable`` says whether the player's guitar has notes to answer a card with. ``question``,
    ``answer`` and ``judge`` are what the player sees, the right answer, and what came of a given one.
    ``actions`` counts the taps or keys of an answer in an input mode, one of :data:`cards.asks.MODES`.

    ``draws`` gives the one voicing that the question or the answer draws; None for an ask that draws
    none, several, or only a part of one. ``beats`` is how long the card's music lasts. ``on_guitar`` says
    that the player answers on the guitar and then reports by word. ``any_chord`` says that the ask has a
    card for any chord that a tune may hold, in any box, besides those that ``cards`` gives.
    """

    name: str
    prompts: tuple[str, ...]
    stage: int
    head_start: float
    usual_seconds: float
    cards: Callable[[Key], Iterator[Card]]
    question: Callable[[Card, Setting], Prompt]
    answer: Callable[[Card, Setting], Answer]
    judge: Callable[[Card, Given, Setting], Verdict]
    actions: Callable[[Card, Given, str], int]
    requires: Callable[[Card], tuple[Card, ...]] = _no_cards
    answerable: Callable[[Card, Setting], bool] = _always
    draws: Callable[[Card, Setting], Voicing] | None = None
    beats: Callable[[Card], int] = _one_bar
    on_guitar: bool = False
    any_chord: bool = False
