"""The English sentence of every message of ``cards``, planning and sessions, by the key of the message.

Names in braces are filled with the values of the message, and with words that :func:`drill.words.saying.say` makes of
them. A sentence that counts something has two forms, for one and for more. The sentences are the keys of the
catalogues (:mod:`drill.words.language`).
"""

from __future__ import annotations

from typing import Final, NamedTuple

from cards.charts.forms import FEELS, FORMS
from cards.guitar.neck import TUNINGS


class Plural(NamedTuple):
    """The forms of a sentence for one and for more; ``by`` names the value that counts."""

    by: str
    one: str
    more: str


SENTENCES: Final[dict[str, str | Plural]] = {
    "ask.name": "Name {the_called} of {key}.",
    "ask.place": "{key}, box {box}: place {the_called}.",
    "ask.place.open": "{key}, open position: place {the_called}.",
    "ask.name-place": "{key}, box {box}, {called_words}: name, place.",
    "ask.name-place.open": "{key}, open position, {called_words}: name, place.",
    "ask.rootless": "{key}, box {box}, {called_words}: root optional.",
    "ask.rootless.open": "{key}, open position, {called_words}: root optional.",
    "ask.number": "Which number is this in {key}?",
    "ask.hands-on": "{key}, box {box}: play {the_called}.",
    "ask.hands-on.open": "{key}, open position: play {the_called}.",
    "ask.shape": "Which shape is this?",
    "ask.tone": "Tap every {tone} of this {chord}.",
    "ask.spell": "Spell {chord}, root first.",
    "ask.whose-key": "Box {box} starts at fret {fret}: whose key?",
    "ask.whose-key.back": "Box {box} of {key} starts at which fret?",
    "ask.box-notes.scale": "Tap the scale of {key}, box {box}.",
    "ask.box-notes.chord": "Tap {the_called} of {key}, box {box}.",
    "ask.change": "{key}, box {box}: play the change.",
    "ask.change.open": "{key}, open position: play the change.",
    "ask.bend": "{chord} to {goal}: which tone moves?",
    "ask.left-out": "Part of {chord}: what is missing?",
    "ask.run": "{key}, box {box}: play the run.",
    "ask.run.open": "{key}, open position: play the run.",
    "ask.guide-tones": "{key}, box {box}: thirds and sevenths.",
    "ask.borrowed": "{key}, box {box}: place {the_called}.",
    "ask.borrowed.open": "{key}, open position: place {the_called}.",
    "answer.chord": "{The_called} of {key} is {chord}: {notes}.",
    "answer.chord.hand": (
        "{The_called} of {key} is {chord}: {notes}. For your hand: {sounding} strings, the {tone} in the bass."
    ),
    "answer.shape": "{chord} in the {shapes} shape.",
    "answer.tone": "The {tone} of {chord} is {note}, here on {on_strings}.",
    "answer.spell": "{chord} is {notes}.",
    "answer.whose-key": "Box {box} at fret {fret}: {key} major and {minor}, frets {low}–{high}.",
    "answer.box": "Box {box} of {key} covers frets {low}–{high}.",
    "answer.bend": "From {chord} to {goal} the {tone} goes {move_words}: {notes}.",
    "answer.left-out": "{chord} without its {tone} is {whole_names}.",
    "answer.run": "In {key}: {chords}.",
    "answer.guide-tones": "Third and seventh: {tones}.",
    "shown": "Shown, so it counts as missed.",
    "right": "Right: {chord}.",
    "right.named": "Right: {chord}.",
    "right.richer": "Right, and you added the seventh: {chord}.",
    "right.inversion": "Right, with the {tone} in the bass.",
    "right.rootless": "Without the root: that is the band's.",
    "right.left_out": "Without the {tone}: a voicing may leave it out.",
    "right.added": "Right chord, and you added the {tone}: {chord}.",
    "right.outside": "It goes one fret outside the region (frets {low}–{high}), inside the reach.",
    "right.octave": "That is the same box an octave up.",
    "wrong.few": Plural(
        "fewest",
        "Only {sounding} of at least {fewest} string sounds.",
        "Only {sounding} of at least {fewest} strings sound.",
    ),
    "wrong.foreign": "{Notes}: not in this chord.",
    "wrong.missing": "No {tone}: {chord} needs it.",
    "wrong.power": "No third: that is a power chord.",
    "wrong.added": "Right chord, and you added the seventh: that is {chord}. Settings can accept it.",
    "wrong.without": "Something is missing: that is {chord}, not {wanted}.",
    "wrong.degree": "You put down {notes}: that is {the_called}; {the_wanted} is {wanted_notes}.",
    "wrong.reach": "Right chord, but outside the reach (frets {low}–{high}) on {on_strings}.",
    "wrong.elsewhere": "Right chord in another place: the region is frets {low}–{high}.",
    "wrong.open": "Right chord, open strings outside the region (frets {low}–{high}).",
    "wrong.stretch": "Right notes, but wider than your hand setting: {mm} mm.",
    "wrong.mutes": "Muted between sounding ones: {on_strings}; one at most can be.",
    "wrong.mute": "String {string} cannot be muted here: no finger beside it touches it.",
    "wrong.hand": "Right notes, but one hand cannot hold them: four fingers, and none may cross.",
    "wrong.bass": "The {tone} is in the bass: on string {string} the root goes lowest.",
    "wrong.slash": "{chord} has {bass} in the bass.",
    "wrong.no_name": "No chord name was given.",
    "wrong.no_frets": "Nothing was put down.",
    "wrong.no_number": "No number was given.",
    "wrong.no_word": "You did not say whether it was right.",
    "wrong.no_choice": "Nothing was chosen.",
    "wrong.no_spots": "Nothing was tapped.",
    "wrong.no_notes": "No notes were given.",
    "wrong.half": "Both are asked: the missing tone, and the name of what is left.",
    "wrong.unread": "Not read: {reason}.",
    "wrong.spelling": "{chord} sounds the same, but in {key} its root is written {root}.",
    "wrong.spelled": "These sound the same, but are written otherwise.",
    "wrong.quality": "The root is right, but {chord} is not {wanted}.",
    "wrong.number": "{chord} is {the_called} of {key}.",
    "wrong.name": "{chord} is not a chord of {key}.",
    "wrong.other_number": "{The_called} of {key} is {chord}: not this one.",
    "wrong.tone": "Not the {tone}: {on_strings}.",
    "wrong.more_tones": Plural(
        "count",
        "{count} more to tap: every {tone} counts.",
        "{count} more to tap: every {tone} counts.",
    ),
    "wrong.bend": "That move does not make {goal}.",
    "wrong.spots": Plural(
        "count",
        "{count} too many.",
        "{count} too many.",
    ),
    "wrong.more_spots": Plural(
        "count",
        "{count} more to tap.",
        "{count} more to tap.",
    ),
    "wrong.guide": "{chord}: only its third and its seventh.",
    "wrong.guide_missing": "{chord}: one third and one seventh at least.",
    "wrong.marks": Plural(
        "count",
        "The change is marked right or fumbled.",
        "Each of the {count} changes is marked right or fumbled.",
    ),
    "wrong.fumbled": "Fumbled: number {fumbled} of {count}.",
    "why-new": "New in {key}.",
    "why-new-box": "New in {key}: box {box}.",
    "why-new-open": "New in {key}: open position.",
    "why-missed": "Missed last time.",
    "why-late": "Right last time, but late.",
    "why-skill": "Keeps {what} in play.",
    "why-fading": Plural(
        "days",
        "Fading: {days} day.",
        "Fading: {days} days.",
    ),
    "why-fading-a-day": "Fading: one day.",
    "why-warm": "Known well, to keep it so.",
    "why-focus": "You asked for {what}.",
    "why-jam": "{title} needs it.",
    "why-opens": "{title} opens with it.",
    "why-shaky": "Shaky in {title}.",
    "why-played": "Played along with {title}.",
    "why-lost": "Found again in {title}.",
    "why-again": "Missed a moment ago: once more.",
    "why-at-end": "Missed today: once more before the end.",
    "away": Plural(
        "count",
        "{count} day away: we start with what fades first.",
        "{count} days away: we start with what fades first.",
    ),
    "next-missed": "First the ones you missed: {names}.",
    "next-late": "Then the late ones, until they fit the bar: {names}.",
    "next-clean": "What was clean rests until it is about to fade.",
    "next-new": "New cards fill the rest of the time.",
    "map-empty": "No answers yet: the first session puts the first figures on the map.",
    "map-empty-here": "No answers to these cards yet.",
    "map-met": Plural(
        "count",
        "{met} of {count} chord has answers.",
        "{met} of {count} chords have answers.",
    ),
    "map-unsure": "Not enough answers yet to name a weak chord: it takes {least} at least, and they must agree.",
    "map-weak": "Weak: {the_called} of {key}, {chord}: {percent} of 100 clean (±\u00a0{margin}, {answers}).",
    "cell-sure": "{percent} of 100 answers would be clean now (±\u00a0{margin}), as {answers} say.",
    "cell-unsure": (
        "Perhaps {percent} of 100 answers would be clean (±\u00a0{margin}): {answers} are too few to be sure."
    ),
    "course-answers": Plural(
        "count",
        "{count} answer; the first took {first} seconds, the last {last}.",
        "{count} answers; the first took {first} seconds, the last {last}.",
    ),
    "why-few": "Too few answers to tell the skills apart yet: {least} for each at least.",
    "why-even": "No skill stands out as weak: what is not fluent yet lies in single chords.",
    "why-weak": "{verdict}.",
    "why-repair": Plural(
        "cards",
        "Repairing {what} would lift {cards} card: asked once, {lifted} more would be clean.",
        "Repairing {what} would lift {cards} cards: if each were asked once, {lifted} more would be clean.",
    ),
    "jam-0": "{name} is today.",
    "jam-1": "{name} is tomorrow.",
    "jam-more": Plural(
        "days",
        "{name} is in {days} day.",
        "{name} is in {days} days.",
    ),
    "ready-no-tunes": "No tune is on the set list yet: readiness shows here once there is one.",
    "ready-over": "This jam is over: readiness is shown for jams to come.",
    "ready-no-room": "None of its chords has room on your guitar in the chosen box.",
    "ready-left-out": "No room on your guitar, so not counted: {changes}.",
    "ready-now": "If nothing more is drilled: {percent} of 100 changes clean on the night ({low} to {high}).",
    "ready-then": Plural(
        "days",
        "With {minutes} minutes on the {days} day left: {percent} of 100 clean ({low} to {high}).",
        "With {minutes} minutes on each of the {days} days left: {percent} of 100 clean ({low} to {high}).",
    ),
    "ready-then-far": (
        "With {minutes} minutes on each of the {days} days of the last four weeks before it: {percent} of 100 "
        "clean ({low} to {high}). What you drill before then comes on top."
    ),
    "ready-then-once": "With {minutes} minutes once more before it: {percent} of 100 clean ({low} to {high}).",
    "ready-no-day": "No day of practice is left before it.",
    "ready-needed": Plural(
        "minutes",
        "For 90 of 100 it takes {minutes} minute a day.",
        "For 90 of 100 it takes {minutes} minutes a day.",
    ),
    "ready-near": "The date is too near for 90 of 100: {minutes} minutes a day would bring about {percent}.",
    "ready-far": "For 90 of 100 those four weeks are not enough: {minutes} minutes a day would bring about {percent}.",
    "ready-enough": "That is enough for 90 of 100.",
    "ready-line": "Ready for {percent} of 100 changes ({low} to {high}).",
    "ready-tune": "{percent} of 100 clean ({low} to {high}).",
    "course-none": "No answers yet: weeks show here once there are some.",
    "course-whole": Plural(
        "cards",
        "{clean} of the {cards} card met so far would be clean now.",
        "{clean} of the {cards} cards met so far would be clean now.",
    ),
    "course-away": Plural(
        "count",
        "{count} day away: we start with what fades first.",
        "{count} days away: we start with what fades first.",
    ),
    "course-line": Plural(
        "count",
        "From {first} of 100 to {last} of 100 in {count} week.",
        "From {first} of 100 to {last} of 100 in {count} weeks.",
    ),
    "course-known": Plural(
        "count",
        "From {first} cards to {last} in {count} week.",
        "From {first} cards to {last} in {count} weeks.",
    ),
    "course-seconds": "The median went from {first} to {last} seconds.",
    "course-minutes": Plural(
        "count",
        "{total} minutes in {count} week, {most} in the fullest.",
        "{total} minutes in {count} weeks, {most} in the fullest.",
    ),
    "course-outcomes": "Sessions: {count}. Answers: {clean} clean, {late} late, {missed} missed.",
    "honest-few": Plural(
        "count",
        "{count} answer so far. The graph needs {least}: {groups} groups of {each}. Chance alone moves the share "
        "of {each} answers by up to 10 of 100, 19 times out of 20.",
        "{count} answers so far. The graph needs {least}: {groups} groups of {each}. Chance alone moves the share"
        " of {each} answers by up to 10 of 100, 19 times out of 20.",
    ),
    "honest-group": Plural(
        "count",
        "Predicted {said} % in time; actually {seen} % ({count} answer).",
        "Predicted {said} % in time; actually {seen} % ({count} answers).",
    ),
    "honest-off": Plural(
        "count",
        "Over {count} answer the prediction was off by {off} of 100. It was made before the answer. A model that "
        "is not yet fitted to your own answers is off by 3 to 5.",
        "Over all {count} answers the predictions were off by {off} of 100. Each was made before its answer. A "
        "model that is not yet fitted to your own answers is off by 3 to 5.",
    ),
    "cell-new": "Not answered yet.",
    "chart.no-key": "No key is given: shown in {key}.",
    "chart.other-key": "{key} is the key given first; {other} is given too.",
    "chart.bars": "Where no bar lines stand, every chord is a bar.",
    "chart.names-letters": "B is read as B natural, not in the German way as B♭.",
    "chart.names-german": "H is read as B, and B as B♭.",
    "chart.names-italian": "DO RE MI are read as C D E, and 7+ as a major seventh.",
    "chart.capo-sounding": "{key} is taken as the key that sounds: with the capo on {capo}, shapes of {shapes}.",
    "chart.capo-shapes": "{key} is taken as the key of the shapes: with the capo on {capo}, {sounding} sounds.",
    "chart.minor-relative": "{key} is numbered from its relative major: 1 is {major}.",
    "chart.minor-tonic": "{key} is numbered from its tonic: 1 is {key}.",
    "chart.bare-own": "A bare 2, 3 or 6 is the key's own chord, minor in a major key.",
    "chart.bare-major": "A bare 2, 3 or 6 is major, since minor ones are marked.",
    "chart.seven-dim": "A bare 7 is vii°; it could be ♭VII.",
    "chart.seven-flat": "A bare 7 is ♭VII; it could be vii°.",
    "chart.glued-extension": "{text} ends with a seventh chord; its 7 could be a chord of its own.",
    "chart.glued-chord": "{text} ends with the chord 7; it could be a seventh.",
    "chart.slash-bass": "What stands behind a slash is a bass; it could be the second half of the bar.",
    "chart.slash-half": "Chords with a slash between share a bar; the second could be a bass.",
    "chart.zero-half-dim": "{text} is half-diminished; it could be diminished.",
    "chart.zero-dim": "{text} is diminished; it could be half-diminished.",
    "chart.glued-names": "{text} is read as {chords}.",
    "chart.bass-quality": "{text} is read as {chord}: only the note behind the slash counts.",
    "chart.alternative": "{text} is read as {chord}; {other} could be played instead.",
    "chart.small": "{text} is read as major; it could mean {other}.",
    "chart.pair": "{text} is two chords; it could be {other}.",
    "chart.minor-seven": "{text} ends with a minor seventh chord; it could be {other}.",
    "chart.minor-six": "{text} is two chords; it could be {other}.",
    "chart.target": "{text} leads to the chord behind the slash; as a bass it would be {other}.",
    "chart.over": "{text} has the degree behind the slash as its bass; leading there it would be {other}.",
    "key.german": "{text} is read as {key}, by its German letters.",
    "numeral.target": "{text} is read as {chord}, which leads to the chord behind the slash; as a bass it is {other}.",
    "numeral.bass": "{text} is read as {chord}: a bass behind the slash; leading there it is {other}.",
    "numeral.borrowed": "{text} is read as {chord}, a borrowed chord; the key's own is {own}, {own_chord}.",
    "way.smooth": "Smooth.",
    "way.strum": "Strum.",
    "way.comp": "Comp.",
    "way.small": "Small.",
    "way.hand-stays": "Hand stays.",
    "way.melody-stays": "Top voice stays.",
    "way.melody-falls": "Top voice falls by steps.",
    "way.melody-rises": "Top voice rises by steps.",
    "way.melody-steps": "Top voice moves by steps.",
    "way.melody-leads": "Top voice leads.",
    "way.kept": "{note} on top in {kept} of {count}.",
    "way.top-voice": "Top voice {notes}.",
    "way.index": "Index at {frets}.",
    "way.index-stays": "Index stays at {fret}.",
    "way.fingers-stay": Plural("fingers", "{Fingers} finger stays.", "{Fingers} fingers stay."),
    "change.index-at": "Index at {fret}.",
    "change.index-moves": "Index at {fret}, moves {direction} {steps}.",
    "change.fingers-stay": Plural("fingers", "{Fingers} finger stays.", "{Fingers} fingers stay."),
    "change.fingers-new": Plural(
        "fingers", "{Fingers} finger is set down anew.", "{Fingers} fingers are set down anew."
    ),
    "change.top-stays": "Top voice stays on {note}.",
    "change.top-moves": "Top voice {direction} to {note}.",
    "change.resolved": "Resolves by step.",
}
"""The sentence of every message key."""

NAMES: Final = frozenset(
    (
        *("root", "second", "third", "fourth", "fifth", "sixth", "seventh"),
        *("octave", "ninth", "tenth", "eleventh", "twelfth", "thirteenth"),
        *("small", "medium", "large"),
        *("clean", "late", "missed"),
        *("shape", "key", "fret", "which tone moves", "where to", "which tone is missing"),
        *("ask", "box", "degree", "mode", "quality"),
        *("full", "hand stays"),
        *FEELS,
        *FORMS,
        *TUNINGS,
    )
)
"""Names that the code uses and pages show.

These are tones, hands, outcomes, grips, what a choice is about, kinds of skill, feels, forms and tunings.
"""
