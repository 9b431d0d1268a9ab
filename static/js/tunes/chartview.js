// A chart on a page: sections, four bars to a line, each chord by number and by name, as long as it lasts.

import { el } from "../lib/dom.js";
import { _, ngettext, nameOf } from "../lib/words.js";

/**
 * The heading of a section: its name, and its key where that is not the chart's.
 * @type {(section: { name: string, key: string }, chart: { key: string | null }) => HTMLElement | false}
 */
export function sectionTitle({ name, key }, chart) {
  const moved = key !== chart.key;
  if (!name && !moved) return false;
  return el("h3", {}, !moved ? name : name ? _("{name}, in {key}", { name, key }) : _("in {key}", { key }));
}

/**
 * The chart as an element. `mark(place)` gives a bar more attributes; place is [section, bar].
 * @type {(chart: Api.Chart, mark?: (place: [number, number]) => Record<string, unknown>) => HTMLElement}
 */
export function chartView(chart, mark = () => ({})) {
  if (!chart.sections.length) return el("p", { class: "quiet" }, _("No chord yet."));
  return el("div", { class: "chart" }, chart.sections.map((section, number) =>
    el("section", {},
      sectionTitle(section, chart),
      el("ol", { class: "bars" }, section.bars.map((bar, at) => el("li", mark([number, at]), bar.map(changeView)))))));
}

/**
 * One chord of a bar: by number, by the shape of the hand if that is another, by name.
 * @type {(change: Api.Change | Time.Step) => HTMLElement}
 */
export function changeView(each) {
  const chord = each.rest ? "N.C." : each.chord;
  const name = each.optional ? `(${chord})` : chord;
  return el("span", { class: `change beats-${Math.min(8, Math.max(1, Math.round(each.beats)))}` },
    el("strong", {}, each.pushed && "<", each.held && "◇", each.rest ? "–" : each.number),
    each.shape && el("span", { class: "shape-of" }, each.shape),
    el("span", { class: "chord-of" }, name));
}

/**
 * What a chart says of itself in a line: key, capo, tempo, feel.
 * @type {(chart: Api.Chart) => string}
 */
export function chartWords(chart) {
  const bars = chart.sections.reduce((sum, section) => sum + section.bars.length, 0);
  return [
    chart.key,
    chart.capo && _("capo {fret}, shapes of {key}", { fret: chart.capo, key: chart.shape_key }),
    chart.time,
    chart.tempo && _("{tempo} bpm", { tempo: Math.round(chart.tempo) }),
    chart.feel && nameOf(chart.feel),
    ngettext("{count} bar", "{count} bars", bars),
  ].filter(Boolean).join(" · ");
}
