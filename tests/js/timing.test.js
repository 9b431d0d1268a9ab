import assert from "node:assert/strict";
import { test } from "node:test";

import { hide, settle, stand } from "./browser.js";
import { Sitting, Watch } from "../../static/js/device/timing.js";

test("a watch counts from the first paint", async () => {
  const watch = new Watch();
  stand(1000);
  watch.start(true);
  await settle();
  stand(3500);
  assert.equal(watch.stop(), 2.5);
});

test("the seconds are unknown before the paint, after a reload, and if the page was hidden meanwhile", async () => {
  const [early, reloaded, hidden] = [new Watch(), new Watch(), new Watch()];
  early.start(true);
  assert.equal(early.stop(), null);
  reloaded.start(false);
  hidden.start(true);
  await settle();
  hide(true);
  hide(false);
  assert.deepEqual([reloaded.stop(), hidden.stop()], [null, null]);
});

test("a sitting counts only what was in view, and says so whenever it stops", () => {
  const kept = [];
  stand(0);
  const sitting = new Sitting(10, (seconds) => kept.push(seconds));
  stand(4000);
  assert.equal(sitting.seconds, 14);
  hide(true);
  stand(60_000);
  assert.deepEqual([sitting.seconds, kept], [14, [14]]);
  hide(false);
  stand(61_000);
  assert.equal(sitting.seconds, 15);
  sitting.hold(true);
  stand(90_000);
  assert.equal(sitting.seconds, 15);
  sitting.atLeast(20);
  sitting.atLeast(3);
  assert.equal(sitting.seconds, 20);
});
