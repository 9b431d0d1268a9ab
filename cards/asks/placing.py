"""The ask *place*: a number, a key and a box, answered by a playable voicing on the neck.

Any right voicing of at least three strings counts. Where bass or keys play along the root of a
seventh chord may be left out, and the card says so. The neck always shows the same stretch, so it
does not answer half the question; the region appears with the answer, or as a hint.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from cards.asks.answers import Answer, Given, Prompt, Verdict, code
from cards.asks.card import Card, Setting
from cards.asks.judging import Finding, Wanted, judge_frets
from cards.asks.naming import numerals, richer_chord, spelled_out
from cards.drawings.voicing import Panel, draw_voicings, panel
from cards.guitar.fingering import Frets
from cards.guitar.regions import BOXES, Region
from cards.messages import Message, message
from cards.theory.chords import ROOT
from cards.theory.keys import Key
from cards.voicings.voicing import MAIN_STRINGS, Voicing, voicings

ASK = "place"
PARTS = ("frets",)
START = 0.1


def cards(key: Key) -> Iterator[Card]:
    """One card for each chord of the key in each box."""
    return cards_in_boxes(ASK, key)


def cards_in_boxes(ask: str, key: Key) -> Iterator[Card]:
    """Cards of an ask for each chord of the key in each box."""
    for numeral in numerals(key):
        for box in BOXES:
            yield Card(ask, key, (numeral,), box)


def question(card: Card, setting: Setting) -> Prompt:
    """The number, the key and the box, with the region as a hint."""
    region = card.places(setting)[0]
    rootless = may_be_rootless(card, setting)
    kind = "ask.rootless" if rootless else f"ask.{card.ask}"
    return Prompt(
        card.ask,
        str(card.key),
        card.called.removesuffix(" seventh"),
        card.seventh,
        card.box,
        message(kind, called=card.called, key=card.key, box=card.box),
        PARTS,
        hint=(region.low, region.high),
        rootless=rootless,
    )


def answer(card: Card, setting: Setting) -> Answer:
    """The voicing shown first, and every voicing that is accepted."""
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        frets=accepted_frets(card, setting),
        drawing=draw_shown(card, setting),
        words=_answer_words(card, setting),
    )


def _answer_words(card: Card, setting: Setting) -> Message:
    """The answer in a sentence, which says so if this hand reaches no rooted voicing of four strings."""
    main, said = shown_voicing(card, setting), spelled_out(card)
    if (main.strings >= MAIN_STRINGS and main.bass == card.chord.bass_tone) or setting.band:
        return said
    return Message("answer.chord.hand", (*said.values, ("sounding", str(main.strings)), ("tone", main.bass.name)))


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Whether the frets are a right voicing; the drawing shows the player's own beside ours."""
    if given.frets is None or not any(fret is not None for fret in given.frets):
        return Verdict(False, (message("wrong.no_frets"), spelled_out(card)), draw_shown(card, setting))
    finding = find(card, given.frets, setting)
    said = finding.messages if finding.right else (*finding.messages, spelled_out(card))
    return Verdict(finding.right, said, draw_both(card, given.frets, finding, setting))


def actions(card: Card, given: Given, mode: str) -> int:
    """One tap per sounding string and the check; by keyboard every step of the cursor."""
    frets = given.frets or main_voicing(card, setting=Setting()).frets
    if mode != "keyboard":
        return sum(fret is not None for fret in frets) + 1
    steps, string, at = 1, 0, 0
    for index, fret in enumerate(frets):
        if fret is not None:
            steps += (index - string) + abs(fret - at) + 1
            string, at = index, fret
    return steps


def has_voicings(card: Card, setting: Setting) -> bool:
    """Whether some hand can play each of its chords there on the player's guitar."""
    return all(card.voicings(setting, chord) for chord in dict.fromkeys(card.chords))


def main_voicing(card: Card, setting: Setting) -> Voicing:
    """The card's main voicing; with bass or keys in the band, the easiest one on the upper four strings."""
    found = card.voicings(setting)
    if setting.band:
        upper = [voicing for voicing in found if _is_upper(voicing) and voicing.shapes]
        return upper[0] if upper else found[0]
    return found[0]


def shown_voicing(card: Card, setting: Setting) -> Voicing:
    """The voicing that the answer shows first: the main one, or where the root may be left out the
    easiest on the upper four strings that leaves out nothing else."""
    for voicing in _rootless(card, setting, card.region(setting)):
        if _is_upper(voicing) and voicing.left_out == (ROOT,):
            return voicing
    return main_voicing(card, setting)


def may_be_rootless(card: Card, setting: Setting) -> bool:
    """Whether the root may be left out: of a chord with a seventh, when somebody else plays it."""
    return setting.band and card.chord.quality.seventh is not None and card.chord.bass is None


def _rootless(card: Card, setting: Setting, place: Region) -> tuple[Voicing, ...]:
    """Its voicings without the root, by rising effort but for the first; () where it must sound."""
    if not may_be_rootless(card, setting):
        return ()
    found = voicings(card.chord, place, setting.fingers, setting.neck, rootless=True)
    return tuple(sorted(found, key=lambda voicing: voicing.fingered.total))


def _is_upper(voicing: Voicing) -> bool:
    return voicing.frets[:2] == (None, None)


def find(card: Card, frets: Frets, setting: Setting) -> Finding:
    """Judge frets for a card."""
    return judge_frets(
        frets,
        Wanted(
            card.key,
            card.numeral,
            card.places(setting) or (card.region(setting),),
            setting.fingers,
            richer_chord(card, setting),
            setting.neck,
            may_be_rootless(card, setting),
        ),
    )


@lru_cache(maxsize=4096)
def accepted_frets(card: Card, setting: Setting) -> tuple[str, ...]:
    """Codes of all right voicings, in every place of the region, sorted."""
    richer = richer_chord(card, setting)
    chords = (card.chord,) if richer is None else (card.chord, richer)
    found = {
        code(voicing.frets)
        for place in card.places(setting)
        for chord in chords
        for voicing in voicings(chord, place, setting.fingers, setting.neck)
    }
    found |= {code(voicing.frets) for place in card.places(setting) for voicing in _rootless(card, setting, place)}
    return tuple(sorted(found))


@lru_cache(maxsize=4096)
def draw_main(card: Card, setting: Setting) -> str:
    """The main voicing as a chord diagram."""
    return draw_voicings([_marked(main_voicing(card, setting))], title(card, setting), setting.left_handed)


@lru_cache(maxsize=4096)
def draw_shown(card: Card, setting: Setting) -> str:
    """The voicing that the answer shows first, as a chord diagram."""
    return draw_voicings([_marked(shown_voicing(card, setting))], title(card, setting), setting.left_handed)


def draw_both(card: Card, frets: Frets, finding: Finding, setting: Setting) -> str:
    """The shown voicing and the player's own beside it; one diagram where they are the same."""
    main = shown_voicing(card, setting)
    if frets == main.frets:
        return draw_shown(card, setting)
    grip = finding.grip
    own = Panel(
        finding.chord,
        frets,
        finding.region,
        grip.fingers if grip else (),
        grip.barres if grip else (),
        caption="yours",
        neck=setting.neck,
    )
    panels = [_marked(main, "main voicing"), own]
    return draw_voicings(panels, title(card, setting), setting.left_handed)


def _marked(voicing: Voicing, caption: str = "") -> Panel:
    """Its diagram, with the word where it is a wide stretch."""
    if not voicing.wide:
        return panel(voicing, caption)
    return panel(voicing, f"{caption} (wide)" if caption else "wide stretch")


def title(card: Card, setting: Setting) -> str:
    """What a drawing of the card's chord shows, in a few words."""
    region = card.region(setting)
    return f"{card.chord} in {card.key}, box {card.box}, frets {region.low}–{region.high}"
