// What the asks are called: what is wanted (on a question), what was done (after a session), and what a group of
// cards holds (in Settings).

import { _ } from "./words.js";

/** @type {Record<string, { wanted?: string, done: string, group: string }>} */
export const ASKS = {
  name: { wanted: _("Name it"), done: _("named"), group: _("name the chord") },
  place: { wanted: _("Place it"), done: _("placed"), group: _("place the chord") },
  "name-place": { wanted: _("Name and place it"), done: _("named and placed"), group: _("name and place it") },
  number: { wanted: _("Which number?"), done: _("its number"), group: _("which number is it") },
  "hands-on": { wanted: _("Play it"), done: _("on the guitar"), group: _("play it on the guitar") },
  shape: { wanted: _("Which shape?"), done: _("its shape"), group: _("which shape is it") },
  tone: { done: _("its tones"), group: _("find a tone in the chord") },
  spell: { wanted: _("Spell it, root first"), done: _("spelled"), group: _("spell the chord") },
  "whose-key": { wanted: _("Whose key?"), done: _("whose key"), group: _("whose key is the box") },
  "box-notes": { wanted: _("Tap every chord tone"), done: _("notes of the box"), group: _("tap the notes of a box") },
  change: { wanted: _("Play the change"), done: _("the change, on the guitar"), group: _("one change, on the guitar") },
  bend: { done: _("which tone moves"), group: _("bend a chord into another") },
  "left-out": { wanted: _("What is missing?"), done: _("what was left out"), group: _("what was left out") },
  run: { wanted: _("Play the run"), done: _("the run, on the guitar"), group: _("a run, on the guitar") },
  "guide-tones": { wanted: _("Thirds and sevenths"), done: _("guide tones"), group: _("guide tones through a progression") },
  borrowed: { wanted: _("Place it"), done: _("borrowed, placed"), group: _("place a borrowed chord") },
};
