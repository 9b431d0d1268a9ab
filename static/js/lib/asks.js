// What the asks are called: what is wanted (on a question), what was done (after a session), and what a group of
// cards holds (in Settings).

/** @type {Record<string, { wanted?: string, done: string, group: string }>} */
export const ASKS = {
  name: { wanted: "Name it", done: "named", group: "name the chord" },
  place: { wanted: "Place it", done: "placed", group: "place the chord" },
  "name-place": { wanted: "Name and place it", done: "named and placed", group: "name and place it" },
  number: { wanted: "Which number?", done: "its number", group: "which number is it" },
  "hands-on": { wanted: "Play it", done: "on the guitar", group: "play it on the guitar" },
  shape: { wanted: "Which shape?", done: "its shape", group: "which shape is it" },
  tone: { done: "its tones", group: "find a tone in the chord" },
  spell: { wanted: "Spell it, root first", done: "spelled", group: "spell the chord" },
  "whose-key": { wanted: "Whose key?", done: "whose key", group: "whose key is the box" },
  "box-notes": { wanted: "Tap every chord tone", done: "notes of the box", group: "tap the notes of a box" },
  change: { wanted: "Play the change", done: "the change, on the guitar", group: "one change, on the guitar" },
  bend: { done: "which tone moves", group: "bend a chord into another" },
  "left-out": { wanted: "What is missing?", done: "what was left out", group: "what was left out" },
  run: { wanted: "Play the run", done: "the run, on the guitar", group: "a run, on the guitar" },
  "guide-tones": { wanted: "Thirds and sevenths", done: "guide tones", group: "guide tones through a progression" },
  borrowed: { wanted: "Place it", done: "borrowed, placed", group: "place a borrowed chord" },
};
