import assert from "node:assert/strict";
import { test } from "node:test";

import "./browser.js";
import { FIRST, PLAIN, SOFT, WEIGHT } from "../../static/js/device/metronome.js";
import {
  barsOf, chance, clicksOf, lostIn, Marks, metreOf, nextAt, nextSounding, sectionsOf, stepAt, tapped, timeline,
} from "../../static/js/play/timeline.js";

const change = (chord, beats, move) => ({ chord, number: chord, beats, rest: chord === null, move });
const chart = {
  sections: [
    { name: "Verse", bars: [[change("C", 4, 0)], [change("C", 2, 0), change("F", 2, 1)]] },
    { name: "", bars: [[change("G7", 4, 2)], [change(null, 4)]] },
  ],
};
const bars = barsOf(chart);
const whole = { first: 0, last: 3, loop: true };

test("bars count through the tune, each with its chords at their beats", () => {
  assert.deepEqual(bars.map(({ number, section, bar, of, beats }) => [number, section, bar, of, beats]), [[0, 0, 0, 2, 4], [1, 0, 1, 2, 4], [2, 1, 0, 2, 4], [3, 1, 1, 2, 4]]);
  assert.deepEqual(bars[1].steps.map(({ chord, at, move }) => [chord, at, move]), [["C", 0, 0], ["F", 2, 1]]);
  assert.equal(bars[3].steps[0].move, null);
});

test("a part without a name is named by its number", () => {
  assert.deepEqual(sectionsOf(bars), [{ name: "Verse", first: 0, last: 1 }, { name: "Part 2", first: 2, last: 3 }]);
});

test("compound metres carry weight on every third beat", () => {
  assert.deepEqual(["4/4", "6/8", "3/8", "7/8", null, "free"].map(metreOf), [[4, 0], [6, 3], [3, 0], [7, 0], null, null]);
  assert.deepEqual(clicksOf({ beats: 6 }, "6/8", "straight").map(({ level }) => level), [FIRST, PLAIN, PLAIN, WEIGHT, PLAIN, PLAIN]);
});

test("a shuffle has a soft click on the last third of each beat", () => {
  assert.deepEqual(clicksOf({ beats: 2 }, "4/4", "shuffle").map(({ at, level }) => [at, level]), [[0, FIRST], [2 / 3, SOFT], [1, PLAIN], [1 + 2 / 3, SOFT]]);
});

test("a run counts a bar in, plays from its bar and goes round from the first", () => {
  const run = timeline(bars, { first: 0, last: 1, from: 1, loop: true, time: "4/4", feel: "straight" });
  const clicks = Array.from({ length: 13 }, (_, n) => run.click(n));
  assert.deepEqual(clicks.map((click) => click.bar), [null, null, null, null, 1, 1, 1, 1, 0, 0, 0, 0, 1]);
  assert.deepEqual(clicks.map((click) => click.at), Array.from({ length: 13 }, (_, at) => at));
  assert.deepEqual([clicks[4].round, clicks[8].round, run.counted, run.length], [0, 1, 4, Infinity]);
});

test("without a loop it ends with its last bar", () => {
  const run = timeline(bars, { first: 0, last: 1, from: 1, loop: false, time: "4/4", feel: "straight" });
  assert.equal(run.length, 8);
  assert.equal(run.click(8), null);
});

test("the next chord is another one, and says how far it is", () => {
  assert.deepEqual([stepAt(bars[1], 1.5).chord, stepAt(bars[1], 2).chord], ["C", "F"]);
  const next = nextAt(bars, whole, 0, 0);
  assert.deepEqual([next.step.chord, next.bars], ["F", 1]);
  assert.equal(nextAt(bars, { first: 0, last: 0, loop: true }, 0, 0), null);
});

test("rests are passed over where the next sounding chord is asked for", () => {
  const next = nextSounding(bars, whole, bars[2]);
  assert.equal(next.step.chord, "C");
});

test("nobody is lost in a rest, nor in the same bar twice", () => {
  const random = chance(7);
  let before = null;
  for (let round = 0; round < 50; round += 1) {
    const bar = lostIn(bars, random, before);
    assert.ok(bar.number !== 3 && bar.number !== before);
    before = bar.number;
  }
});

test("a tempo is the middle gap of the last taps, within its limits", () => {
  assert.equal(tapped([0], 30, 240), null);
  assert.equal(tapped([0, 500, 1000, 1480, 2000], 30, 240), 120);
  assert.equal(tapped([0, 100], 30, 200), 200);
  assert.equal(tapped([0, 1999], 40, 240), 40);
});

test("a card is fumbled if one of its moves was, and lasts as long as the shortest that counts", () => {
  const moves = [{ card: "c", beats: 4 }, { card: "f", beats: 2 }, { card: "c", beats: 2 }, { card: null, beats: 4 }];
  const marks = new Marks();
  for (const move of [0, 1, 2, 3]) marks.pass(move);
  marks.turn(0, 0);
  assert.deepEqual(marks.answers(moves, true), [{ card: "c", beats: 4, right: false }, { card: "f", beats: 2, right: true }]);
  assert.deepEqual(marks.answers(moves, false), [{ card: "c", beats: 4, right: false }]);
  assert.deepEqual(new Marks(marks.plain).plain, marks.plain);
  marks.turn(0, 0);
  assert.deepEqual(marks.answers(moves, true)[0], { card: "c", beats: 2, right: true });
});
