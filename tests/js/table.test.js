import assert from "node:assert/strict";
import { test } from "node:test";

import "./browser.js";
import { sorted } from "../../static/js/lib/table.js";

const rows = [{ key: "F", share: 0.5 }, { key: "C", share: -1 }, { key: "G", share: 0.5 }];

test("rows are sorted by numbers and by texts, up and down", () => {
  assert.deepEqual(sorted(rows, (row) => row.share, false).map((row) => row.key), ["C", "F", "G"]);
  assert.deepEqual(sorted(rows, (row) => row.key, false).map((row) => row.key), ["C", "F", "G"]);
  assert.deepEqual(sorted(rows, (row) => row.share, true).map((row) => row.key), ["G", "F", "C"]);
});

test("the rows themselves stay in their order", () => {
  sorted(rows, (row) => row.key, true);
  assert.deepEqual(rows.map((row) => row.key), ["F", "C", "G"]);
});
