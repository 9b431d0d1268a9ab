import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import "./browser.js";
import { SPELLINGS } from "../../static/js/lib/spellings.js";
import { normalName, startsAsChord } from "../../static/js/session/name.js";

/** @type {[string, string | null][]} */
const names = JSON.parse(readFileSync(new URL("names.json", import.meta.url), "utf8"));

/** The qualities that the page knows. */
const known = new Set(Object.keys(SPELLINGS));

/** The quality of a printed name. @param {string} name */
const qualityOf = (name) => name.replace(/^[A-G][♭♯𝄫𝄪]?/u, "");

test("the page never calls a chord something else than the service does", () => {
  for (const [written, printed] of names) {
    const read = normalName(written);
    assert.ok(read === null || read === printed, `${written}: ${read}, the service says ${printed}`);
  }
});

test("the page reads every listed spelling of a quality that cards ask for", () => {
  const left = names.filter(([written, printed]) => printed && known.has(qualityOf(printed)) && normalName(written) === null);
  assert.deepEqual(left, []);
});

test("spellings that the page once called wrong are read", () => {
  const read = ["Gma", "Ab^7", "Bmi7b5", "Abj7", "Bdim(7)", "bb", "F##m7", "Bbb"].map(normalName);
  assert.deepEqual(read, ["G", "A♭maj7", "Bm7♭5", "A♭maj7", "B°7", "B♭", "F𝄪m7", "B𝄫"]);
});

test("what the page cannot read it leaves to the service", () => {
  for (const name of ["C6/9", "D/F#", "Bbb5", "C7alt", "B b", "Cx7"]) {
    assert.equal(normalName(name), null, name);
    assert.ok(startsAsChord(name), name);
  }
});

test("what starts with no letter from A to G is no chord", () => {
  for (const text of ["", " ", "H7", "7", "♭7"]) assert.ok(!startsAsChord(text), text);
});
