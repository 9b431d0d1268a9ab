"""The ask *place*: the question gives a number, a key and a box, the answer is a playable voicing on the neck.

Every right voicing of at least three strings is accepted, spread triads too. If bass or keys play along, the root of a
seventh chord may be left out, and the card says so. The neck on the page always shows the same frets,
since a neck that showed only the region would answer half the question. The region appears with the
answer, or as a hint.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache

from cards.asks.answers import Answer, Given, Prompt, Verdict, code
from cards.asks.card import Card, Setting
from cards.asks.judging import Finding, Wanted, judge_frets
from cards.asks.naming import numerals, richer_chord, spelled_out
from cards.asks.record import Ask
from cards.drawings.voicing import Panel, draw_voicings, panel
from cards.guitar.fingering import Frets
from cards.guitar.regions import BOXES, OPEN, Region, has_open_position
from cards.messages import Message, lookup, message, phrase
from cards.theory.chords import ROOT, Chord
from cards.theory.keys import Key
from cards.voicings.small import spread_triads
from cards.voicings.voicing import MAIN_STRINGS, Voicing, hand_stays_beside, voicings

ASK = "place"
PARTS = ("frets",)


def cards(key: Key) -> Iterator[Card]:
    """Yield one card for each chord of the key in each box, and in the open position."""
    return cards_in_boxes(ASK, key)


def cards_in_boxes(ask: str, key: Key) -> Iterator[Card]:
    """Yield a card of an ask for each chord of the key in each box, and in the open position where it is a place
    of its own."""
    for numeral in numerals(key):
        for box in boxes_of(key):
            yield Card(ask, key, (numeral,), box)


def boxes_of(key: Key) -> tuple[int, ...]:
    """Return the boxes that have cards of a key; the open position comes last if it is a place of its own."""
    return (*BOXES, OPEN) if has_open_position(key) else tuple(BOXES)


def requires(card: Card) -> tuple[Card, ...]:
    """Return the same chord one box lower, and the degree's triad for a seventh chord."""
    return card.in_previous_box + card.on_own_triad


def all_placed_first(card: Card) -> tuple[Card, ...]:
    """Return the cards that place each chord of a card's progression in its box."""
    return tuple(Card(ASK, card.key, (numeral,), card.box) for numeral in dict.fromkeys(card.calls))


def question(card: Card, setting: Setting) -> Prompt:
    """Show the number, the key and the box; the region is a hint."""
    region = card.places(setting)[0]
    rootless = may_be_rootless(card, setting)
    where = ".open" if card.is_open else ""
    kind = f"ask.rootless{where}" if rootless else f"ask.{card.ask}{where}"
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
    """Return the voicing shown first, and every voicing that is accepted."""
    return Answer(
        chord=str(card.chord),
        notes=tuple(map(str, card.chord.notes)),
        frets=accepted_frets(card, setting),
        drawing=draw_shown(card, setting),
        words=_answer_words(card, setting),
    )


def _answer_words(card: Card, setting: Setting) -> Message:
    """Return the answer in a sentence.

    The sentence says so if the hand reaches no voicing of four strings with the root in the bass. A pinned grip is
    the player's choice, not his hand's.
    """
    voicing, sentence = shown_voicing(card, setting), spelled_out(card)
    is_chosen = setting.band or voicing.frets == card.pinned(setting)
    if is_chosen or (voicing.strings >= MAIN_STRINGS and voicing.bass == card.chord.bass_tone):
        return sentence
    sounding = (("sounding", str(voicing.strings)), ("tone", voicing.bass.name))
    return Message("answer.chord.hand", (*sentence.values, *sounding))


def judge(card: Card, given: Given, setting: Setting) -> Verdict:
    """Judge whether the frets are a right voicing; the drawing shows the player's voicing beside ours."""
    if given.frets is None or not any(fret is not None for fret in given.frets):
        return Verdict(False, (message("wrong.no_frets"), spelled_out(card)), draw_shown(card, setting))
    finding = find(card, given.frets, setting)
    messages = finding.messages if finding.right else (*finding.messages, spelled_out(card))
    return Verdict(finding.right, messages, draw_both(card, given.frets, finding, setting))


def actions(card: Card, given: Given, mode: str) -> int:
    """Count a tap for each sounding string and one for the check; by keyboard, every step of the cursor."""
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
    """Return whether some hand can play each chord of the card in its box on the player's guitar."""
    return all(card.voicings(setting, chord) for chord in dict.fromkeys(card.chords))


def main_voicing(card: Card, setting: Setting) -> Voicing:
    """Return the card's main voicing, or the grip that the player has pinned there.

    With bass or keys in the band it is the easiest voicing on the upper four strings, if nothing is pinned.
    """
    playable = card.voicings(setting)
    if setting.band and playable[0].frets != card.pinned(setting):
        upper = [voicing for voicing in playable if _is_upper(voicing) and voicing.shapes]
        return upper[0] if upper else playable[0]
    return playable[0]


def shown_voicing(card: Card, setting: Setting) -> Voicing:
    """Return the voicing that the answer shows first.

    This is the main voicing. If the root may be left out, it is the easiest voicing on the upper four
    strings that leaves out the root and nothing else.
    """
    for voicing in _rootless(card, setting, card.region(setting)):
        if _is_upper(voicing) and voicing.left_out == (ROOT,):
            return voicing
    return main_voicing(card, setting)


def may_be_rootless(card: Card, setting: Setting) -> bool:
    """Return whether the root may be left out: the chord has a seventh, and somebody else plays the root."""
    return setting.band and card.chord.quality.seventh is not None and card.chord.bass is None


def _any_bass(chord: Chord, setting: Setting) -> bool:
    """Whether any tone may be lowest: where the band plays the bass and no bass is asked for."""
    return setting.band and chord.bass is None


def _rootless(card: Card, setting: Setting, place: Region) -> tuple[Voicing, ...]:
    """Return the voicings without the root, those with the least effort first; () if the root must sound."""
    if not may_be_rootless(card, setting):
        return ()
    rootless = voicings(card.chord, place, setting.fingers, setting.neck, rootless=True)
    return tuple(sorted(rootless, key=lambda voicing: voicing.fingered.total))


def _is_upper(voicing: Voicing) -> bool:
    return voicing.frets[:2] == (None, None)


def find(card: Card, frets: Frets, setting: Setting) -> Finding:
    """Judge frets as an answer to a card."""
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
            any_bass=setting.band,
        ),
    )


@lru_cache(maxsize=4096)
def accepted_frets(card: Card, setting: Setting) -> tuple[str, ...]:
    """Return the codes of all right voicings, in every place of the region, sorted."""
    richer = richer_chord(card, setting)
    chords = (card.chord,) if richer is None else (card.chord, richer)
    accepted = {
        code(voicing.frets)
        for place in card.places(setting)
        for chord in chords
        for voicing in voicings(chord, place, setting.fingers, setting.neck, any_bass=_any_bass(chord, setting))
    }
    accepted |= {code(voicing.frets) for place in card.places(setting) for voicing in _rootless(card, setting, place)}
    accepted |= {code(frets) for place in card.places(setting) for frets in _spread(card, setting, place)}
    return tuple(sorted(accepted))


def _spread(card: Card, setting: Setting, place: Region) -> list[Frets]:
    """Return the spread triads of a card's chord with the root lowest, or with any bass if the band plays it."""
    chord = card.chord
    spread = spread_triads(chord, place, card.key, setting.fingers, setting.neck)
    return [small.frets for small in spread if _any_bass(chord, setting) or small.bass == chord.bass_tone]


def draw_main(card: Card, setting: Setting) -> str:
    """Draw the main voicing as a chord diagram."""
    return _draw_main(card, setting, lookup())


@lru_cache(maxsize=4096)
def _draw_main(card: Card, setting: Setting, phrases: Callable[[str], str]) -> str:
    return draw_voicings([_marked(main_voicing(card, setting))], title(card, setting), setting.left_handed)


def draw_shown(card: Card, setting: Setting) -> str:
    """Draw the voicing that the answer shows first as a chord diagram.

    If that is the main voicing and it moves the index finger, the grip with which the hand stays is drawn beside it.
    """
    return _draw_shown(card, setting, lookup())


@lru_cache(maxsize=4096)
def _draw_shown(card: Card, setting: Setting, phrases: Callable[[str], str]) -> str:
    return draw_voicings(_shown_panels(card, setting), title(card, setting), setting.left_handed)


def draw_both(card: Card, frets: Frets, finding: Finding, setting: Setting) -> str:
    """Draw what the answer shows and the player's own beside it, or only the former if the player's is among it."""
    shown, staying = shown_voicing(card, setting), staying_voicing(card, setting)
    if frets == shown.frets or (staying is not None and frets == staying.frets):
        return draw_shown(card, setting)
    grip = finding.grip
    own = Panel(
        finding.chord,
        frets,
        finding.region,
        grip.fingers if grip else (),
        grip.barres if grip else (),
        caption=phrase("yours"),
        neck=setting.neck,
    )
    shown_panels = [_marked(shown, phrase("main voicing"))] if staying is None else _shown_panels(card, setting)
    return draw_voicings([*shown_panels, own], title(card, setting), setting.left_handed)


def staying_voicing(card: Card, setting: Setting) -> Voicing | None:
    """Return the grip with which the hand stays, if the answer shows a main voicing that moves the index finger."""
    if card.pinned(setting) is not None:
        return None
    region, chord = card.region(setting), card.chord
    hand = setting.fingers if voicings(chord, region, setting.fingers, setting.neck) else setting.largest_hand
    is_main = shown_voicing(card, setting) == card.voicings(setting)[0]
    return hand_stays_beside(chord, region, hand, setting.neck) if is_main else None


def _shown_panels(card: Card, setting: Setting) -> list[Panel]:
    """Return the diagram of the voicing that the answer shows, and of the one beside it with which the hand stays.

    A drop 2 or drop 3 is called so.
    """
    shown, staying = shown_voicing(card, setting), staying_voicing(card, setting)
    if staying is None:
        return [_marked(shown, _drop(shown))]
    return [
        _marked(voicing, ", ".join(filter(None, (called, _drop(voicing)))))
        for voicing, called in ((shown, phrase("full")), (staying, phrase("hand stays")))
    ]


def _drop(voicing: Voicing) -> str:
    """Return what the trade calls a drop 2 or drop 3 voicing; "" for any other."""
    return phrase("drop {strings}", strings=voicing.drop) if voicing.drop else ""


def _marked(voicing: Voicing, caption: str = "") -> Panel:
    """Return the diagram of a voicing; its caption says so if the voicing is a wide stretch."""
    if not voicing.wide:
        return panel(voicing, caption)
    return panel(voicing, phrase("{caption} (wide)", caption=caption) if caption else phrase("wide stretch"))


def title(card: Card, setting: Setting) -> str:
    """Return the title of a drawing of the card's chord."""
    region = card.region(setting)
    if card.is_open:
        return phrase("{chord} in {key}, open position", chord=card.chord, key=card.key)
    return phrase(
        "{chord} in {key}, box {box}, frets {low}–{high}",
        chord=card.chord,
        key=card.key,
        box=card.box,
        low=region.low,
        high=region.high,
    )


RECORD = Ask(
    name=ASK,
    prompts=("ask.place", "ask.place.open", "ask.rootless", "ask.rootless.open"),
    stage=0,
    head_start=0.1,
    usual_seconds=9.0,
    cards=cards,
    requires=requires,
    answerable=has_voicings,
    question=question,
    answer=answer,
    judge=judge,
    actions=actions,
    draws=shown_voicing,
)
