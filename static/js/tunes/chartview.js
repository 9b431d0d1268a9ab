// A chart on a page: sections, four bars to a line, each chord by number and by name, as long as it lasts.

import { el } from "../lib/dom.js";

/**
 * The chart as an element. `mark(place)` gives a bar more attributes; place is [section, bar].
 * @type {(chart: Api.Chart, mark?: (place: [number, number]) => Record<string, unknown>) => HTMLElement}
 */
export function chartView(chart, mark = () => ({})) {
  if (!chart.sections.length) return el("p", { class: "quiet" }, "No chord yet.");
  return el("div", { class: "chart" }, chart.sections.map((section, number) =>
    el("section", {},
      (section.name || section.key !== chart.key) && el("h3", {}, [section.name, section.key !== chart.key && `in ${section.key}`].filter(Boolean).join(", ")),
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
    chart.capo && `capo ${chart.capo}, shapes of ${chart.shape_key}`,
    chart.time,
    chart.tempo && `${Math.round(chart.tempo)} bpm`,
    chart.feel,
    `${bars} bars`,
  ].filter(Boolean).join(" · ");
}
