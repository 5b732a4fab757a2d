// The page's own arithmetic and its side of the worker, without a browser: each piece of source is bundled and called.
import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { dirname, join, relative, sep } from "node:path";
import { test } from "node:test";
import { build } from "esbuild";
import { WEB } from "../../web/scripts/paths.mjs";

async function load(path) {
  const { outputFiles } = await build({ entryPoints: [join(WEB, "src", path)], bundle: true, write: false, format: "esm", target: "es2022" });
  return import(`data:text/javascript;base64,${Buffer.from(outputFiles[0].contents).toString("base64")}`);
}

const turn = () => new Promise((resolve) => setTimeout(resolve, 0));
const close = (a, b, tolerance) => assert.ok(Math.abs(a - b) <= tolerance, `${a} is not ${b}`);

/** A worker's stand-in that answers only when told to. */
function fakeThreads() {
  const threads = [];
  const start = () => {
    const thread = { sent: [], ended: false, postMessage: (message) => thread.sent.push(message), terminate: () => (thread.ended = true), onmessage: null, onerror: null };
    thread.says = (data) => thread.onmessage?.({ data });
    threads.push(thread);
    return thread;
  };
  return { threads, start };
}

function heard() {
  const log = [];
  const listener = {};
  for (const name of ["awake", "building", "built", "refused", "meshes", "measured", "joints", "failed"]) listener[name] = (...told) => log.push([name, ...told]);
  return { log, listener };
}

test("of several jobs the latest wins", async () => {
  const { Client } = await load("worker/client.ts");
  const { threads, start } = fakeThreads();
  const { log, listener } = heard();
  const client = new Client(start, listener);
  const [thread] = threads;
  thread.says({ kind: "ready" });
  for (const job of [1, 2, 3]) client.build({ job });
  assert.deepEqual(thread.sent.map(({ job }) => job), [{ job: 1 }], "one at a time");
  thread.says({ kind: "built", id: thread.sent[0].id });
  assert.deepEqual(thread.sent.map(({ job }) => job), [{ job: 1 }, { job: 3 }], "the one between is dropped");
  thread.says({ kind: "refused", id: thread.sent[1].id, violations: [] });
  assert.deepEqual(log.map(([name]) => name).filter((name) => name !== "building"), ["built", "refused"]);
});

test("after a trap a new worker gets the last good job, then the one that met the trap", async () => {
  const { Client } = await load("worker/client.ts");
  const { threads, start } = fakeThreads();
  const { log, listener } = heard();
  const client = new Client(start, listener);
  const says = (message) => threads.at(-1).says(message);
  const last = () => threads.at(-1).sent.at(-1);
  says({ kind: "ready" });
  client.build("good");
  says({ kind: "built", id: last().id });
  client.build("fatal");
  says({ kind: "trap", message: "unreachable" });
  assert.equal(threads.length, 2);
  assert.ok(threads[0].ended);
  assert.deepEqual(log.at(-1), ["failed", "unreachable", "again"]);
  says({ kind: "ready" });
  assert.equal(last().job, "good");
  says({ kind: "built", id: last().id });
  assert.equal(last().job, "fatal");

  // a second trap on the same job: the last good one stands and the fatal one is not tried a third time
  says({ kind: "trap", message: "unreachable" });
  assert.deepEqual(log.at(-1), ["failed", "unreachable", "back"]);
  says({ kind: "ready" });
  says({ kind: "built", id: last().id });
  assert.equal(last().job, "good");

  // and another change is taken as usual
  client.build("better");
  assert.equal(last().job, "better");
  says({ kind: "built", id: last().id });
});

test("what is wanted before the core is loaded waits in the worker, not on the page", async () => {
  const { Client } = await load("worker/client.ts");
  const { threads, start } = fakeThreads();
  const { log, listener } = heard();
  const client = new Client(start, listener);
  const schema = client.ask({ kind: "schema" });
  client.build("job");
  assert.deepEqual(threads[0].sent.map(({ kind }) => kind), ["schema", "build"]);
  threads[0].says({ kind: "awake" });
  assert.deepEqual(log, [["awake"]], "it is not building while it is loading");
  threads[0].says({ kind: "ready" });
  assert.deepEqual(log.at(-1), ["building"]);
  threads[0].says({ kind: "schema", id: threads[0].sent[0].id, schema: {} });
  await schema;
  threads[0].says({ kind: "built", id: threads[0].sent[1].id });
  assert.equal(log.at(-1)[0], "built");
});

test("a worker that gives no answer is put away, and one that never starts is given up", async () => {
  const { Client } = await load("worker/client.ts");
  const { threads, start } = fakeThreads();
  const { log, listener } = heard();
  const client = new Client(start, listener, 15);
  threads[0].says({ kind: "ready" });
  client.build("job");
  await new Promise((resolve) => setTimeout(resolve, 120));
  assert.ok(threads.length >= 2);
  assert.ok(threads.every(({ ended }) => ended), "none is left running");
  assert.deepEqual(log.at(-1), ["failed", "it gave no answer", "over"]);
  client.restart();
  threads.at(-1).says({ kind: "ready" });
  client.build("job");
  threads.at(-1).says({ kind: "built", id: threads.at(-1).sent.at(-1).id });
  assert.equal(log.at(-1)[0], "built");
});

/** A core's stand-in: rows of a list are measured here one by one, from the first, or taken. */
function fakeCore(rows) {
  const core = { alone: 0, own: [], taken: [], open: [], finished: 0 };
  return Object.assign(core, {
    setJob: () => ((core.alone += 1), { ok: true, rebuilt: [], warnings: [] }),
    beginJob: (job) => (job === "bad" ? { ok: false, violations: [] } : { ok: true, open: [...(core.open = [...rows])] }),
    measureNext: () => {
      if (core.open.length > 0) core.own.push(core.open.shift());
      const until = performance.now() + 0.3;
      while (performance.now() < until);
      return core.open.length;
    },
    takeMeasured: (numbers) => {
      if (numbers.includes(-1)) throw new Error("no rows");
      core.taken.push(...numbers);
      core.open = core.open.filter((row) => !numbers.includes(row));
    },
    finishJob: () => ((core.finished += 1), { ok: true, rebuilt: [], warnings: [] }),
  });
}

const MANY = Array.from({ length: 70 }, (_, row) => row);

test("a helper's rows are not measured twice, and those of another round are not heeded", async () => {
  const { TwoCores } = await load("worker/two-cores.ts");
  const { threads, start } = fakeThreads();
  const cores = new TwoCores();
  const core = fakeCore(MANY);
  cores.start(start);
  const [thread] = threads;
  await cores.setJob(core, "job");
  assert.deepEqual([core.alone, core.finished, thread.sent.length], [1, 0, 0], "one core until the helper is there");
  thread.says({ kind: "ready" });
  assert.deepEqual(thread.sent.splice(0), [{ kind: "job", round: 0, job: "job" }], "it builds the neck that stands while nobody waits");
  const done = cores.setJob(core, "job");
  assert.deepEqual(thread.sent.map(({ kind }) => kind), ["job", "rows"]);
  const { round, rows } = thread.sent[1];
  assert.deepEqual(rows, MANY);
  thread.says({ kind: "measured", round: round - 1, rows: Float64Array.of(68) });
  thread.says({ kind: "measured", round, rows: Float64Array.of(69, 67, 66, 65, 64) });
  await done;
  assert.deepEqual(core.taken, [69, 67, 66, 65, 64]);
  assert.deepEqual(core.own, MANY.filter((row) => !core.taken.includes(row)), "the row of another round is measured here");
  assert.deepEqual([core.finished, thread.sent.at(-1)], [1, { kind: "over", round }]);
  thread.says({ kind: "measured", round, rows: Float64Array.of(60) });
  assert.equal(core.taken.includes(60), false, "what comes late is not heeded");
  thread.sent.length = 0;
  assert.deepEqual(await cores.setJob(core, "bad"), { ok: false, violations: [] });
  assert.deepEqual(thread.sent.map(({ kind }) => kind), ["job", "over"], "after one that was shared the next is given to both at once");
  const few = fakeCore(MANY.slice(0, 9));
  await cores.setJob(few, "job");
  assert.deepEqual([few.own.length, few.finished, thread.sent.length], [0, 1, 2], "few rows are not shared");
});

test("a helper that fails, tells what is no row, or cannot be started leaves one core to do it all", async () => {
  const { TwoCores } = await load("worker/two-cores.ts");
  for (const fails of ["failed", "no row", "script", "not started"]) {
    const { threads, start } = fakeThreads();
    const cores = new TwoCores();
    cores.start(fails === "not started" ? () => { throw new Error("not allowed"); } : start);
    const [thread] = threads;
    thread?.says({ kind: "ready" });
    const core = fakeCore(MANY);
    const done = cores.setJob(core, "job");
    if (fails === "failed") thread.says({ kind: "failed" });
    if (fails === "no row") thread.says({ kind: "measured", round: thread.sent[0].round, rows: Float64Array.of(-1) });
    if (fails === "script") thread.onerror({ preventDefault: () => {} });
    await done;
    assert.deepEqual([core.own.length, core.alone], fails === "not started" ? [0, 1] : [70, 0], fails);
    assert.equal(thread?.ended ?? true, true, fails);
    await cores.setJob(core, "job");
    assert.equal(core.alone, fails === "not started" ? 2 : 1, `${fails}: the next neck is one core's`);
  }
});

test("the room of a held part is looked for only while the hand rests", async () => {
  const { RoomSearch } = await load("state/room.ts");
  const { movableOf } = await load("state/places.ts");
  const part = movableOf("vent");
  const state = { good: { vent: { station_mm: 60 } }, unrolled: { along: [] }, room: undefined, placing: undefined };
  const bench = { get: () => state, set: (change) => Object.assign(state, change) };
  let rested = 0;
  const tried = [];
  const ask = async ({ job }) => {
    tried.push(job.vent.station_mm);
    // clear from 55 to 62
    return { kind: "tried", failing: job.vent.station_mm < 55 || job.vent.station_mm > 62 ? [{ a: "vent", b: "cork", pose: "closed" }] : [], violations: [] };
  };
  const rooms = new RoomSearch(bench, ask, () => rested);
  state.placing = { part, at: { stationMm: 60, azimuthDeg: 0 } };
  rooms.want(part);
  await new Promise((resolve) => setTimeout(resolve, 300));
  assert.deepEqual(tried, [], "the hand moves on");
  rested = Infinity;
  for (let wait = 0; state.room?.looking !== false && wait < 200; wait += 1) await new Promise((resolve) => setTimeout(resolve, 20));
  const [{ from, to }] = state.room.stretches;
  close(from.stationMm, 55, 0.02);
  close(to.stationMm, 62, 0.02);
  assert.equal(tried[0], 60, "first where it stands");
});

test("turns are taken one after the other, each to its end", async () => {
  const { Turns } = await load("worker/turns.ts");
  const turns = new Turns();
  const log = [];
  const piece = (name, wait) => async () => {
    log.push(`${name} begins`);
    if (wait) await turn();
    log.push(`${name} ends`);
  };
  turns.add(piece("a", true));
  turns.add(piece("b", true));
  turns.add(piece("c", false));
  assert.deepEqual(log, ["a begins"]);
  await turn();
  await turn();
  await turn();
  assert.deepEqual(log, ["a begins", "a ends", "b begins", "b ends", "c begins", "c ends"]);
});

test("a question is answered, refused in the core's words, or ended with the worker", async () => {
  const { Client } = await load("worker/client.ts");
  const { threads, start } = fakeThreads();
  const { listener } = heard();
  const client = new Client(start, listener);
  const schema = client.ask({ kind: "schema" });
  const stl = client.ask({ kind: "part-stl", part: "nose", chordMm: 1 });
  const step = client.ask({ kind: "assembly-step" });
  threads[0].says({ kind: "ready" });
  const id = (kind) => threads.at(-1).sent.find((message) => message.kind === kind).id;
  threads[0].says({ kind: "failed", id: id("part-stl"), message: "there is no part nose" });
  await assert.rejects(stl, /there is no part nose/);
  threads[0].says({ kind: "trap", message: "unreachable" });
  await assert.rejects(step, /the calculation stopped: unreachable/);
  // what only reads is asked again of the new worker
  threads[1].says({ kind: "ready" });
  threads[1].says({ kind: "schema", id: id("schema"), schema: {} });
  assert.equal((await schema).kind, "schema");
});

test("of several angles the newest is asked, one at a time", async () => {
  const { Newest } = await load("worker/client.ts");
  const asked = [];
  const heard = [];
  let missed = 0;
  const newest = new Newest(
    (wanted) => new Promise((resolve, reject) => asked.push({ wanted, resolve, reject })),
    (wanted, told) => heard.push([wanted, told]),
    () => (missed += 1),
  );
  for (const angle of [1, 2, 3]) newest.want(angle);
  assert.deepEqual(asked.map(({ wanted }) => wanted), [1]);
  asked[0].resolve("one");
  await turn();
  assert.deepEqual(heard, [[1, "one"]]);
  assert.deepEqual(asked.map(({ wanted }) => wanted), [1, 3], "the one between is never asked");
  // what comes after it is not wanted any more is not heard
  newest.drop();
  newest.want(4);
  asked[1].resolve("three");
  await turn();
  asked[2].resolve("four");
  await turn();
  assert.deepEqual(heard, [[1, "one"], [4, "four"]]);
  newest.want(5);
  asked[3].reject(new Error("the worker is gone"));
  await turn();
  assert.equal(missed, 1);
  newest.want(6);
  asked[4].resolve("six");
  await turn();
  assert.deepEqual(heard.at(-1), [6, "six"], "and it goes on after a miss");
});

test("ways out are asked for one by one, and nothing is heard after a stop or of another search", async () => {
  const { WaysOut } = await load("state/ways-out.ts");
  let bench = { search: undefined };
  const store = { get: () => bench, set: (change) => (bench = { ...bench, ...change }) };
  const asked = [];
  const ways = new WaysOut(store, (request) => new Promise((resolve, reject) => asked.push({ request, resolve, reject })));
  const answer = async (reply) => {
    asked.at(-1).resolve(reply);
    await turn();
  };
  const way = (by, clears_all) => ({ kind: "way-out", way: { by, clears_all } });
  const pair = { a: "saddle", b: "badge" };
  void ways.look(pair);
  await answer({ kind: "changes", words: ["one", "two", "three"] });
  assert.deepEqual(asked.map(({ request }) => request.kind), ["changes", "way-out"], "one at a time");
  await answer(way(1, false));
  await answer(way(9, true));
  assert.deepEqual([bench.search.tried, bench.search.of, bench.search.work], [2, 3, "looking"]);
  await answer({ kind: "way-out", way: undefined });
  assert.deepEqual([bench.search.work, bench.search.found.map(({ by }) => by)], ["done", [9, 1]], "what clears everything first");

  void ways.look(pair);
  await answer({ kind: "changes", words: ["one", "two"] });
  ways.stop();
  await answer(way(1, true));
  assert.deepEqual([bench.search.work, bench.search.tried, asked.length], ["stopped", 0, 6], "nothing more is asked");

  void ways.look(pair);
  await answer({ kind: "changes", words: ["one"] });
  store.set({ search: undefined });
  await answer(way(1, true));
  assert.equal(bench.search, undefined, "its job has changed");

  void ways.look(pair);
  asked.at(-1).reject(new Error("the worker is gone"));
  await turn();
  assert.equal(bench.search.work, "failed");
});

/** A row of the list with what the test is about. */
const row = (a, b, pose, gap, more = {}) => ({ a, b, pose, relation: "free", state: "clear", gap_mm: gap, overlap_mm: 0, required_min_mm: 0.3, required_max_mm: null, ok: gap >= 0.3, key_angle_deg: pose === "static" ? null : 0, ...more });

test("a pair is one entry, led by its worst row, and what fails is read first", async () => {
  const { entriesOf, rowOf, rowKey, leastOfKey } = await load("state/pairs.ts");
  const list = {
    pairs: [
      row("tube", "cork", "static", 0.4),
      ...["closed", "open", "swing"].map((pose, index) => row("arm", "tube", pose, [1.5, 0.9, 0.8][index])),
      ...["closed", "open", "swing"].map((pose, index) => row("arm", "guide", pose, [0.5, 0.1, 0.1][index])),
      row("tube", "brace", "static", 0.02, { relation: "joint", required_min_mm: 0.01, ok: true }),
      row("pin", "clamp", "static", 0, { required_min_mm: null, ok: true }),
      row("tube", "guide", "static", 0.9, { by_hand_mm: 0.1, by_hand_ok: false }),
    ],
    neck_turned: { pairs: [row("pin", "cork", "static", 2, { horn_angle_deg: 15 }), row("tube", "cork", "static", 0.31, { horn_angle_deg: -3 })] },
  };
  const entries = entriesOf(list);
  assert.deepEqual(entries.map(({ key }) => key), ["arm|guide", "tube|guide", "tube|cork", "arm|tube", "pin|cork", "pin|clamp", "tube|brace"]);
  assert.deepEqual(entries.map(({ lead }) => lead.pose + (lead.horn_angle_deg ?? "")), ["open", "static", "static-3", "swing", "static15", "static", "static"]);
  assert.equal(entriesOf(list), entries, "worked out once");
  assert.equal(rowKey(entries[2].lead), "tube|cork|turned");
  assert.equal(rowOf(list, "arm|tube|closed").gap_mm, 1.5);
  assert.equal(rowOf(list, "arm|tube|at").pose, "swing", "the worst where there is no such pose");
  assert.equal(rowOf(list, "no|such|static"), undefined);
  assert.deepEqual([leastOfKey(list).a, leastOfKey(list).b, leastOfKey(list).pose], ["arm", "guide", "swing"]);
});

test("the key goes from closed to open in steps, and its pad along the vent", async () => {
  const { degOfStep, padLiftMm, stepOfDeg, stepsOf } = await load("state/key.ts");
  assert.deepEqual([stepsOf(2.18), stepsOf(2), stepsOf(0.01)], [44, 40, 1]);
  assert.deepEqual([0, 1, 43, 44].map((step) => degOfStep(step, 2.18)), [0, 0.05, 2.15, 2.18]);
  assert.deepEqual([0, 0.03, 2.18, 9].map((deg) => stepOfDeg(deg, 2.18)), [0, 1, 44, 44]);
  // hinge at the origin, pad 40 in front of it and level with it: it rises by 40 sin
  const box = (x, z) => [[x - 1, -1, z - 1], [x + 1, 1, z + 1]];
  const axes = { key: { pointMm: [0, 0, 0], direction: [0, 1, 0] } };
  const parts = [{ id: "pad", bboxMm: box(-40, 0) }, { id: "vent", bboxMm: box(-40, -3) }];
  const sine = (deg) => Math.sin((deg * Math.PI) / 180);
  close(padLiftMm(parts, axes, 40 * sine(20), 20, 10), 40 * sine(10), 1e-9);
  close(padLiftMm([], axes, 2, 4, 1), 0.5, 1e-9);
});

test("lengths: millimetres, inches, commas, and what is no number", async () => {
  const { readNumber, lengthText, lengthsIn, fieldText } = await load("state/lengths.ts");
  assert.equal(lengthsIn("Allowed: 0.3 to 2 mm. The last 5.08 mm of 20°.", "in"), "Allowed: 0.012 to 0.079 in. The last 0.2 in of 20°.");
  assert.equal(readNumber("0,7", "mm"), 0.7);
  assert.equal(readNumber(" .5 ", "mm"), 0.5);
  assert.equal(readNumber("0.028", "in"), 0.7112);
  assert.equal(readNumber("0.7 mm", "in"), 0.7);
  assert.equal(readNumber('1"', "mm"), 25.4);
  assert.equal(readNumber("-12", undefined), -12);
  for (const text of ["", "abc", "1.2.3", "1e5", "--1", "0x10", "NaN", "5 kg"]) assert.equal(readNumber(text, "mm"), undefined, text);
  assert.equal(readNumber("20 mm", undefined), undefined, "an angle has no millimetres");
  assert.equal(lengthText(0.3125, "mm"), "0.31");
  assert.equal(lengthText(25.4, "in"), "1.000");
  assert.equal(lengthText(-0.001, "mm"), "0.00", "nothing is not less than nothing");
  assert.equal(fieldText(0.7, "in"), "0.028");
  assert.equal(fieldText(0.70000001, "mm"), "0.7");
});

test("a job is changed by path and shares what was not touched", async () => {
  const { valueAt, withValue, pathText } = await load("state/json.ts");
  const job = { bore: { table: [{ station_mm: 0 }, { station_mm: 10 }] }, tube: { wall_mm: 0.7 } };
  const changed = withValue(job, ["bore", "table", 1, "station_mm"], 12);
  assert.equal(valueAt(changed, ["bore", "table", 1, "station_mm"]), 12);
  assert.equal(valueAt(job, ["bore", "table", 1, "station_mm"]), 10);
  assert.equal(changed.tube, job.tube);
  assert.equal(valueAt(job, ["tube", "constructor"]), undefined);
  assert.equal(pathText(["bore", "table", 1, "station_mm"]), "bore.table[1].station_mm");
});

test("two jobs are the same when they say the same", async () => {
  const { sameJson } = await load("state/json.ts");
  assert.ok(sameJson({ a: 1, b: [1, { c: "x" }] }, { b: [1, { c: "x" }], a: 1, badge: null }));
  for (const other of [{ a: 1, b: [1] }, { a: 1, b: [1, { c: "y" }] }, { a: "1", b: [1, { c: "x" }] }, [], null, undefined]) {
    assert.ok(!sameJson({ a: 1, b: [1, { c: "x" }] }, other), JSON.stringify(other));
  }
});

/** The rooms of the page in their order; a file uses only its own and those before it. main.ts joins them. */
const ROOMS = ["dom.ts", "state", "worker", "keeping", "view", "panels"];

test("no room of the page uses one after it", () => {
  const source = join(WEB, "src");
  let looked = 0;
  for (const file of readdirSync(source, { recursive: true })) {
    const own = ROOMS.indexOf(file.split(sep)[0]);
    if (own < 0 || !file.endsWith(".ts")) continue;
    for (const [line, types, path] of readFileSync(join(source, file), "utf8").matchAll(/^import (type )?.*from "(\..*)"/gm)) {
      const room = ROOMS.indexOf(relative(source, join(source, dirname(file), path)).split(sep)[0]);
      // types of what the worker says are read everywhere, and are not there any more when the page runs
      if (types === undefined) assert.ok(room <= own, `${file}: ${line}`);
      looked += 1;
    }
  }
  assert.ok(looked > 40, "the sources were read");
});

test("one way of saying a thing becomes another without losing its shape", async () => {
  const { translated } = await load("state/alternatives.ts");
  assert.deepEqual(translated("tube", { wall_mm: 0.72 }, new Set(["wall_gauge"]), {}), { wall_gauge: 21 });
  close(translated("tube", { wall_gauge: 20 }, new Set(["wall_mm"]), {}).wall_mm, 0.8118, 0.001); // ASTM B258: gauge 20 is 0.03196 in
  // a quarter circle of radius 60 between straights of 50 and 30: its end lies 60 on and 60 down, its length is 30 pi
  const pieces = [{ straight_mm: 50 }, { bend_deg: 90, radius_mm: 60 }, { straight_mm: 30 }];
  const points = translated("centreline", { pieces }, new Set(["points"]), {});
  const last = points.points.at(-1);
  assert.deepEqual([points.straight_start_mm, points.straight_end_mm], [50, 30]);
  close(last.x_mm, 110, 0.01);
  close(last.z_mm, -60, 0.01);
  const back = translated("centreline", points, new Set(["pieces"]), {}).pieces;
  close(back[1].bend_deg, 90, 0.1);
  close(back[1].radius_mm, 60, 0.1);
  const table = translated("bore", { entry_diameter_mm: 12, half_angle_deg: 1.5 }, new Set(["table"]), { centreline: { pieces } }).table;
  close(table.at(-1).station_mm, 80 + 30 * Math.PI, 0.01);
  close(translated("bore", { table }, new Set(["half_angle_deg"]), {}).half_angle_deg, 1.5, 0.001);
});

test("the camera keeps the point under the pointer, looks square, and comes to rest", async () => {
  const { Camera, axes, dot, subtract, FROM_THE_SIDE } = await load("view/camera.ts");
  const { right, up, eye } = axes(FROM_THE_SIDE);
  close(right[0], 1, 1e-12);
  close(up[2], 1, 1e-12);
  close(eye[1], -1, 1e-12);
  const camera = new Camera({ target: [10, 0, -20], span: 100, ...FROM_THE_SIDE });
  camera.orbit(0.4, 0.3);
  const under = (look, x, y) => axes(look).right.map((axis, index) => look.target[index] + axis * x * look.span + axes(look).up[index] * y * look.span);
  const before = under(camera.goal, 0.3, -0.2);
  camera.zoom(0.5, 0.3, -0.2);
  const moved = subtract(before, under(camera.goal, 0.3, -0.2));
  close(Math.sqrt(dot(moved, moved)), 0, 1e-9);
  let frames = 0;
  while (camera.step(16)) frames += 1;
  assert.ok(frames > 5 && frames < 100, `${frames} frames`);
  assert.deepEqual(camera.now, camera.goal);
  camera.still = true;
  camera.orbit(1, 0);
  assert.deepEqual(camera.now, camera.goal, "without movement between places");
  camera.fit({ min: [0, -10, -50], max: [100, 10, 50] }, 2, FROM_THE_SIDE, 1);
  assert.deepEqual(camera.goal.target, [50, 0, 0]);
  close(camera.goal.span, 100, 1e-9);
});

test("corners at one place grow the same way, whatever face they belong to", async () => {
  const { outwardOf } = await load("worker/outward.ts");
  // a ridge of two faces, square to one another; its two corners are there twice
  const positions = new Float32Array([0, 0, 0, 0, 1, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0, -1, 0, 0]);
  const normals = new Float32Array([1, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 1]);
  const outward = outwardOf(positions, normals);
  for (const corner of [0, 1, 3, 4]) [Math.SQRT1_2, 0, Math.SQRT1_2].forEach((value, axis) => close(outward[corner * 3 + axis], value, 1e-6));
  assert.deepEqual([...outward.slice(6, 9)], [1, 0, 0]);
  assert.deepEqual([...outward.slice(15, 18)], [0, 0, 1]);
});

test("names keep clear of parts and of one another", async () => {
  const { Covered, placeNames } = await load("view/names.ts");
  const covered = new Covered(800, 400);
  for (let x = 100; x < 700; x += 4) for (let y = 180; y < 220; y += 4) covered.mark(x, y);
  const names = Array.from({ length: 8 }, (_, index) => ({ id: `${index}`, text: "Hinge screw", x: 150 + index * 60, y: 200, width: 72 }));
  const placed = placeNames(names, covered);
  assert.equal(placed.length, names.length);
  const passes = ({ x, y, fromX, fromY }, rect) =>
    Array.from({ length: 41 }, (_, step) => [x + ((fromX - x) * step) / 40, y + ((fromY - y) * step) / 40]).some(
      ([px, py]) => px > rect.left + 1 && px < rect.right - 1 && py > rect.top + 1 && py < rect.bottom - 1,
    );
  for (const [index, name] of placed.entries()) {
    const rect = { left: name.left, right: name.left + name.width, top: name.base - 12, bottom: name.base + 4 };
    assert.ok(rect.bottom < 184 || rect.top > 216, "not on the part");
    for (const other of placed) assert.ok(other === name || !passes(other, rect), `the line of ${other.id} goes through the name ${name.id}`);
    for (const other of placed.slice(index + 1)) {
      assert.ok(Math.abs(other.left - name.left) >= 72 || Math.abs(other.base - name.base) >= 16, "not on another name");
    }
  }
});

test("a drag is held to the way it has clearly begun", async () => {
  const { bearingOf } = await load("state/bearing.ts");
  // a quarter of a turn holds 14 degrees to either side of a way: the tangent of 14.04 degrees is a quarter
  const way = (degrees, px = 20) => bearingOf(px * Math.cos((degrees * Math.PI) / 180), px * Math.sin((degrees * Math.PI) / 180), 1);
  for (const degrees of [0, 13.9, -13.9, 180, 167]) assert.equal(way(degrees), "along", `${degrees}`);
  for (const degrees of [90, 77, -90, 103]) assert.equal(way(degrees), "round", `${degrees}`);
  for (const degrees of [14.2, 45, 75.8, -45, 135]) assert.equal(way(degrees), "both", `${degrees}`);
  assert.equal(way(0, 11), undefined, "too short to tell");
});

test("numbers written over the view keep off one another and stay in the picture", async () => {
  const { placeLabels } = await load("view/labels.ts");
  const { overlapPx } = await load("view/names.ts");
  const label = (x, y) => ({ kind: "", text: "100.00", x, y, side: "over", widthPx: 50, heightPx: 16 });
  const placed = placeLabels([label(100, 100), label(108, 100), label(100, 104), label(2, 2), label(398, 299)], 400, 300, []);
  assert.equal(placed.length, 5);
  for (const { rect } of placed) assert.ok(rect.left >= 0 && rect.top >= 0 && rect.right <= 400 && rect.bottom <= 300);
  for (const [at, one] of placed.entries()) for (const other of placed.slice(at + 1)) assert.equal(overlapPx(one.rect, other.rect), 0);
});

test("the store tells nested changes once and in order", async () => {
  const { createStore } = await load("state/store.ts");
  const store = createStore({ a: 0, b: 0 });
  const seen = [];
  store.subscribe((now) => {
    if (now.b !== now.a) store.set({ b: now.a });
  });
  store.subscribe((now) => seen.push([now.a, now.b]));
  store.set({ a: 1 });
  await turn();
  assert.deepEqual(seen, [[1, 0], [1, 1]]);
});
