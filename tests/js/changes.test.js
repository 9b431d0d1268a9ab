import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

import { settle } from "./browser.js";

const { Changes } = await import("../../static/js/jams/changes.js");

const entry = (id) => ({ id, tune: `tune ${id}`, key: null, tempo: null });
const jam = (...ids) => ({ id: "j", name: "Open jam", local: "2026-05-08T20:00", entries: ids.map(entry), past: false, deleted: false });
const ids = ({ entries }) => entries.map((one) => one.id).join("");

let requests = [];
let replies = [];
let told = [];

/** Answers with what is next in `replies`: `[status, body]`, or nothing at all for a service that is away. */
globalThis.fetch = async (path, { method, body }) => {
  requests.push([method, path, JSON.parse(body)]);
  const [status, reply] = replies.shift() ?? [];
  if (!status) throw new TypeError("away");
  return new Response(JSON.stringify(reply), { status });
};

function open(start) {
  const changes = new Changes("j", {
    show: (shown) => told.push(ids(shown)),
    refused: (change, error) => told.push(`refused ${change.kind}: ${error.message}`),
    away: () => told.push("away"),
    done: (taken) => told.push(taken ? "done" : "done, not all taken"),
    merged: () => told.push("merged"),
  });
  changes.take(start);
  return changes;
}

beforeEach(() => {
  [requests, replies, told] = [[], [], []];
  localStorage.removeItem("draft:jam:j");
});

test("a change is shown at once, and of entries that stay only their ids are sent", async () => {
  replies = [[200, jam("b", "a")]];
  open(jam("a", "b")).make({ kind: "move", id: "b", before: "a" });
  assert.deepEqual(told, ["ab", "ba"]);
  await settle();
  assert.deepEqual(requests, [["PUT", "/api/jams/j/set-list", { was: ["a", "b"], entries: [{ id: "b" }, { id: "a" }] }]]);
  assert.equal(told.at(-1), "done");
});

test("a change is put on top of a set list that was changed elsewhere", async () => {
  replies = [[409, { error: "changed", jam: jam("a", "c", "b") }], [200, jam("b", "a", "c")]];
  const changes = open(jam("a", "b"));
  changes.make({ kind: "move", id: "b", before: "a" });
  await settle();
  assert.deepEqual(requests[1][2], { was: ["a", "c", "b"], entries: [{ id: "b" }, { id: "a" }, { id: "c" }] });
  assert.deepEqual([ids(changes.jam), told.includes("merged"), told.at(-1)], ["bac", true, "done"]);
});

test("what cannot be sent is kept and sent when the page is there again", async () => {
  open(jam("a", "b")).make({ kind: "off", id: "a" });
  await settle();
  assert.equal(told.at(-1), "away");
  replies = [[200, jam("b")]];
  const again = open(jam("a", "b"));
  assert.equal(ids(again.jam), "b");
  await settle();
  assert.deepEqual([again.waiting, told.at(-1), localStorage.getItem("draft:jam:j")], [false, "done", null]);
});

test("a value is sent with what it was; one that is refused is told and dropped", async () => {
  replies = [[422, { error: "A jam has a name.", field: "name" }]];
  const changes = open(jam("a"));
  changes.make({ kind: "value", name: "name", value: "", was: "Open jam" });
  await settle();
  assert.deepEqual(requests, [["PUT", "/api/jams/j", { name: "", was: { name: "Open jam" } }]]);
  assert.deepEqual(told.slice(-2), ["refused value: A jam has a name.", "done, not all taken"]);
  assert.equal(changes.jam.name, "Open jam");
});
