// A tune as time: its bars in a row, what clicks and changes when, and what comes next. Nothing here touches the
// page. Bars count from 0 through the whole tune; `at` is in beats of the metre's own unit.

import { FIRST, PLAIN, SOFT, WEIGHT } from "../device/metronome.js";
import { _, ngettext } from "../lib/words.js";

const HAIR = 1e-6; // of a beat, which rounding takes

/** @type {(beats: number) => number} */
const tidy = (beats) => (Math.abs(beats - Math.round(beats)) < HAIR ? Math.round(beats) : beats);

/**
 * The bars of a chart in a row, each with its chords: `{ number, section, name, bar, of, beats, steps }`.
 * @type {(chart: Api.Chart) => Time.Bar[]}
 */
export function barsOf(chart) {
  const bars = chart.sections.flatMap(({ name, bars: inside }, section) =>
    inside.map((changes, bar) => ({ section, name, bar, of: inside.length, ...timed(changes) })));
  return bars.map((bar, number) => ({ ...bar, number }));
}

/** @type {(changes: Api.Change[]) => { beats: number, steps: Time.Step[] }} */
function timed(changes) {
  let at = 0;
  const steps = changes.map((change) => {
    const step = { ...change, move: change.move ?? null, at: tidy(at) };
    at += change.beats;
    return step;
  });
  return { beats: tidy(at), steps };
}

/**
 * Sections as ranges of bars: `{ name, first, last }`.
 * @type {(bars: Time.Bar[]) => (Time.Range & { name: string })[]}
 */
export function sectionsOf(bars) {
  const found = [];
  for (const bar of bars) {
    if (bar.bar === 0) found.push({ name: bar.name || _("Part {number}", { number: bar.section + 1 }), first: bar.number, last: bar.number });
    found[found.length - 1].last = bar.number;
  }
  return found;
}

/**
 * Beats of a metre, and every how many of them one carries weight: [6, 3] for 6/8, null where none is told.
 * @type {(time: string | null | undefined) => [number, number] | null}
 */
export function metreOf(time) {
  const written = /^(\d+)\/(\d+)$/.exec(time ?? "");
  if (!written) return null;
  const [count, unit] = [Number(written[1]), Number(written[2])];
  return [count, unit >= 8 && count % 3 === 0 && count > 3 ? 3 : 0];
}

/**
 * What happens within a bar of so many beats: a click on every beat, in a shuffle a soft one between; and, only seen,
 * every chord that comes beside a beat.
 * @type {(bar: { beats: number, steps?: { at: number }[] }, time: string | null, feel: string | null) => Time.Click[]}
 */
export function clicksOf({ beats, steps = [] }, time, feel) {
  const every = metreOf(time)?.[1] ?? 0;
  const clicks = [];
  for (let at = 0; at < beats - HAIR; at += 1) {
    clicks.push({ at, level: at === 0 ? FIRST : every && at % every === 0 ? WEIGHT : PLAIN });
    if (feel === "shuffle" && !every && at + 2 / 3 < beats - HAIR) clicks.push({ at: at + 2 / 3, level: SOFT });
  }
  for (const { at } of steps) if (!clicks.some((each) => Math.abs(each.at - at) < HAIR)) clicks.push({ at, level: null });
  return clicks.sort((one, other) => one.at - other.at);
}

/**
 * The whole of a run: a bar to count in, the bars from `from` to `last`, and then from `first` to `last` round and
 * round if it loops. `click(n)` is what a Metronome takes, and says beside it where that is: `{ bar, beat, round }`,
 * `bar` null while it counts in. However long it runs, only one round of it is held.
 * @type {(bars: Time.Bar[], how: Omit<Time.How, "tempo"> & { time: string | null }) => { click: (n: number) => Time.Placed | null, counted: number, length: number }}
 */
export function timeline(bars, { first, last, from, loop, time, feel }) {
  const counted = metreOf(time)?.[0] ?? (Math.ceil(bars[from].beats) || 1);
  const count = clicksOf({ beats: counted }, time, "straight");
  const lead = through(bars.slice(from, last + 1), time, feel);
  const round = through(bars.slice(first, last + 1), time, feel);

  /** @type {(n: number) => Time.Placed | null} */
  function click(n) {
    if (n < count.length) return { ...count[n], bar: null, beat: count[n].at, round: 0 };
    const led = n - count.length;
    if (led < lead.clicks.length) return placed(lead.clicks[led], counted, 0);
    if (!loop) return null;
    const turned = led - lead.clicks.length;
    const turns = Math.floor(turned / round.clicks.length);
    return placed(round.clicks[turned % round.clicks.length], counted + lead.beats + turns * round.beats, turns + 1);
  }
  return { click, counted, length: loop ? Infinity : counted + lead.beats };
}

/** @type {(click: Time.Placed, begin: number, round: number) => Time.Placed} */
const placed = (click, begin, round) => ({ ...click, at: begin + click.at, round });

/** @type {(bars: Time.Bar[], time: string | null, feel: string | null) => { clicks: Time.Placed[], beats: number }} */
function through(bars, time, feel) {
  let begin = 0;
  const clicks = [];
  for (const bar of bars) {
    for (const { at, level } of clicksOf(bar, time, feel)) clicks.push({ at: begin + at, level, bar: bar.number, beat: at, round: 0 });
    begin += bar.beats;
  }
  return { clicks, beats: begin };
}

/**
 * The chord of a bar at a beat of it.
 * @type {(bar: Time.Bar, beat: number) => Time.Step}
 */
export const stepAt = (bar, beat) => bar.steps.findLast((step) => step.at <= beat + HAIR) ?? bar.steps[0];

/** @type {(one: Time.Step, other: Time.Step) => boolean} */
const same = (one, other) => one.chord === other.chord; // two rests are as one: neither has a chord

/**
 * The next chord (or rest) that is another than the one at a place: `{ step, bar, bars }`, with how many bars it
 * is away; null if none comes until the end, or in the whole round.
 * @type {(bars: Time.Bar[], round: Time.Round, number: number, beat: number) => Time.Next | null}
 */
export function nextAt(bars, { first, last, loop }, number, beat) {
  const here = stepAt(bars[number], beat);
  const length = last - first + 1;
  const most = loop ? last - number + length : last - number;
  for (let away = 0; away <= most; away += 1) {
    const at = number + away;
    const bar = bars[at <= last ? at : first + ((at - last - 1) % length)];
    const step = bar.steps.find((each) => (away > 0 || each.at > here.at) && !same(each, here));
    if (step) return { step, bar, bars: away };
  }
  return null;
}

/**
 * How far that is, as one player says it to another.
 * @type {(bars: number) => string}
 */
export const awayWords = (bars) => (bars === 0 ? _("this bar") : bars === 1 ? _("next bar") : ngettext("in {count} bar", "in {count} bars", bars));

/**
 * The tempo of taps at these times (ms), from `low` to `high`: the middle one of the last gaps; null while there is no gap.
 * @type {(times: number[], low: number, high: number) => number | null}
 */
export function tapped(times, low, high) {
  const since = times.findLastIndex((time, at) => at > 0 && time - times[at - 1] > 2000);
  const taps = times.slice(Math.max(since, 0)).slice(-6);
  const gaps = taps.slice(1).map((time, at) => time - taps[at]).sort((one, other) => one - other);
  if (!gaps.length) return null;
  return Math.min(high, Math.max(low, Math.round(60_000 / gaps[Math.floor(gaps.length / 2)])));
}

/**
 * What was played, move by move and time by time: how often each was gone through, and at which times it was fumbled.
 * `turn` numbers the rounds of all runs of a sitting.
 */
export class Marks {
  /** @type {Map<number, number>} */ #played;
  /** @type {Map<number, Set<number>>} */ #fumbled;

  /** @param {Time.KeptMarks} [kept] */
  constructor({ played = [], fumbled = [] } = {}) {
    this.#played = new Map(played);
    this.#fumbled = new Map(fumbled.map(([move, turns]) => [move, new Set(turns)]));
  }

  /**
   * A move was gone through once more.
   * @type {(move: number) => void}
   */
  pass(move) {
    this.#played.set(move, this.times(move) + 1);
  }

  /**
   * Fumbled at this turn; once more takes it back.
   * @type {(move: number, turn: number) => void}
   */
  turn(move, turn) {
    const turns = this.#fumbled.get(move) ?? new Set();
    if (!turns.delete(turn)) turns.add(turn);
    if (turns.size) this.#fumbled.set(move, turns);
    else this.#fumbled.delete(move);
  }

  /**
   * Afterwards: fumbled once, or not at all.
   * @type {(move: number) => void}
   */
  turnWhole(move) {
    if (!this.#fumbled.delete(move)) this.#fumbled.set(move, new Set([-1]));
  }

  /** @type {(move: number) => number} */
  times = (move) => this.#played.get(move) ?? 0;
  /** @type {(move: number) => number} */
  fumbles = (move) => this.#fumbled.get(move)?.size ?? 0;
  /** @type {(move: number, turn: number) => boolean} */
  isFumbled = (move, turn) => this.#fumbled.get(move)?.has(turn) ?? false;

  /** Every move that was gone through or fumbled, in the order of the tune. */
  get moves() {
    return [...new Set([...this.#played.keys(), ...this.#fumbled.keys()])].sort((one, other) => one - other);
  }

  get count() {
    return this.moves.filter((move) => this.fumbles(move)).length;
  }

  /** As it is kept over a reload. */
  get plain() {
    return { played: [...this.#played], fumbled: [...this.#fumbled].map(([move, turns]) => [move, [...turns]]) };
  }

  /**
   * The answers that this makes, one for each card: fumbled if one of its moves was; with the rest, or only these.
   * A card lasts as long as its shortest move that counts.
   * @type {(moves: Api.Move[], rest: boolean) => Api.Played[]}
   */
  answers(moves, rest) {
    const cards = new Map();
    for (const move of this.moves) {
      const { card, beats } = moves[move];
      const right = !this.fumbles(move);
      const known = cards.get(card);
      if (!card || (known && !known.right && right)) continue;
      const shorter = known && known.right === right ? Math.min(known.beats, beats) : beats;
      cards.set(card, { card, beats: shorter, right });
    }
    return [...cards.values()].filter(({ right }) => rest || !right);
  }
}

/**
 * Numbers in a row that look like chance, from 0 up to 1, the same for the same seed (mulberry32).
 * @type {(seed: number) => () => number}
 */
export function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

/**
 * A bar to be lost in: never the one before again while there is another; one that something comes after.
 * @type {(bars: Time.Bar[], random: () => number, before?: number | null) => Time.Bar | null}
 */
export function lostIn(bars, random, before = null) {
  const whole = { first: 0, last: bars.length - 1, loop: true };
  const open = bars.filter((bar) => bar.steps.length && !bar.steps[bar.steps.length - 1].rest && nextSounding(bars, whole, bar));
  const fresh = open.length > 1 ? open.filter((bar) => bar.number !== before) : open;
  return fresh[Math.floor(random() * fresh.length)] ?? null;
}

/**
 * The chord that comes after a bar, rests passed over; null where no other one comes.
 * @type {(bars: Time.Bar[], whole: Time.Round, bar: Time.Bar) => Time.Next | null}
 */
export function nextSounding(bars, whole, bar) {
  const here = bar.steps[bar.steps.length - 1];
  let at = { bar, step: here };
  for (let hops = 0; hops < bars.length + 1; hops += 1) {
    const next = nextAt(bars, whole, at.bar.number, at.step.at);
    if (!next) return null;
    if (!next.step.rest && next.step.chord !== here.chord) return next;
    at = next;
  }
  return null;
}
