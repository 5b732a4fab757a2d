// Blanks and lays as a stranger would make them from Node, their files held against the command's.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, test } from "node:test";
import { pathToFileURL } from "node:url";
import { PKG, ROOT } from "../../web/scripts/paths.mjs";
import { scratchFolder } from "../scratch.mjs";

const { Blanks, initSync, sheetSchema } = await import(pathToFileURL(join(PKG, "neckwright_shop.js")));
initSync({ module: readFileSync(join(PKG, "neckwright_shop_bg.wasm")) });

const jobFile = (name) => join(ROOT, "examples", "jobs", `${name}.json`);
const sheetFile = (name) => join(ROOT, "examples", "sheets", `${name}.json`);
const textOf = (file) => readFileSync(file, "utf8");

const folder = scratchFolder();

/** The tenor of the alto's metal and thickness, so that both come from one sheet. */
function tenorLikeAlto() {
  const tenor = { ...JSON.parse(textOf(jobFile("tenor"))), tube: JSON.parse(textOf(jobFile("alto"))).tube };
  const file = join(folder, "tenor_like_alto.json");
  writeFileSync(file, JSON.stringify(tenor));
  return file;
}

describe("wasm and command give the same files, byte for byte", () => {
  for (const [job, sheet, rounds, seed, paper, also] of [
    ["alto", "sheet_305x610", 40, 3, "a4", undefined],
    ["tenor", "strip_300", 90, 1, "letter", undefined],
    ["alto", "offcut", 30, 2, "a4", undefined],
    ["alto", "sheets_305x305", 30, 5, "letter", 4],
  ]) {
    test(`${job} on ${sheet}, seed ${seed}, ${rounds} rounds${also === undefined ? "" : ", with another order"}`, () => {
      const out = mkdtempSync(join(folder, "out-"));
      const other = also === undefined ? [] : [{ job: textOf(tenorLikeAlto()), halves: also }];
      const options = ["--rounds", rounds, "--seed", seed, ...(paper === "letter" ? ["--letter"] : []), ...other.flatMap(() => ["--also", `${tenorLikeAlto()}=${also}`])];
      const ran = spawnSync("cargo", ["run", "--release", "--quiet", "--example", "lay_blanks", "--", jobFile(job), sheetFile(sheet), out, ...options.map(String)], { cwd: ROOT, encoding: "utf8" });
      assert.ok(ran.status === 0 || ran.status === 1, ran.stderr);
      const blanks = new Blanks();
      const result = blanks.setOrders([{ job: textOf(jobFile(job)), halves: 0 }, ...other], JSON.parse(textOf(sheetFile(sheet))));
      assert.ok(result.ok, JSON.stringify(result.violations));
      blanks.start(seed);
      // in slices of any size: rounds count, not time
      for (let left = rounds; left > 0; ) {
        const slice = Math.min(left, 7);
        blanks.step(slice);
        left -= slice;
      }
      const files = blanks.files(paper);
      assert.deepEqual(files.map(({ name }) => name).sort(), readdirSync(out).sort());
      for (const { name, bytes } of files) assert.ok(Buffer.from(bytes).equals(readFileSync(join(out, name))), name);
      const report = blanks.best();
      assert.equal(JSON.stringify(report), JSON.stringify(JSON.parse(textOf(join(out, "lay.json")))));
      assert.ok(report.pieces > 2);
      blanks.free();
    });
  }
});

test("the blank of the alto with its strain map is there in half a second", () => {
  const times = [];
  for (let run = 0; run < 3; run += 1) {
    const blanks = new Blanks();
    // CPU time: what else this machine does is not counted
    const start = process.cpuUsage();
    assert.ok(blanks.setOrders([{ job: textOf(jobFile("alto")), halves: 2 }], textOf(sheetFile("sheet_305x610"))).ok);
    const { user, system } = process.cpuUsage(start);
    times.push((user + system) / 1000);
    blanks.free();
  }
  console.log(`blank of the alto with strain map: ${times.map((time) => time.toFixed(0)).join(", ")} ms of CPU`);
  assert.ok(Math.min(...times) < 500, String(times));
});

test("places of the map go with its numbers and lie on the blank", () => {
  const blanks = new Blanks();
  const { blanks: views, notes } = blanks.setOrders([{ job: textOf(jobFile("alto")), halves: 2 }], textOf(sheetFile("sheet_305x610")));
  const [view] = views;
  assert.equal(views.length, 1);
  assert.ok(notes.some((note) => note.includes("estimate")));
  assert.equal(view.places.length, view.costs.map.length);
  const xs = view.outline.map(([x]) => x);
  for (const [index, { flat, formed }] of view.places.entries()) {
    const cell = view.costs.map[index];
    const middle = [0, 1].map((axis) => flat.reduce((sum, corner) => sum + corner[axis], 0) / 4);
    // a cell is some 5 mm by 5 mm
    assert.ok(Math.hypot(middle[0] - cell.x_mm, middle[1] - cell.y_mm) < 1.5, `place ${index}`);
    assert.ok(middle[0] > Math.min(...xs) && middle[0] < Math.max(...xs));
    // the right half lies towards -Y
    assert.ok(formed.every(([, y]) => y < 1e-6));
  }
  blanks.free();
});

test("what is wrong with sheet and jobs is told at once, and nothing is lost by it", () => {
  const blanks = new Blanks();
  assert.throws(() => blanks.start(1), /no blanks have been laid flat yet/);
  assert.throws(() => blanks.files("a4"), /no blanks/);
  assert.throws(() => blanks.step(1), /no lay has been started/);
  const alto = textOf(jobFile("alto"));
  const sheet = JSON.parse(textOf(sheetFile("sheet_305x610")));
  const paths = (orders, own) => blanks.setOrders(orders, own).violations.map(({ path }) => path);
  assert.deepEqual(paths([{ job: alto, halves: 1 }], { ...sheet, halves: 0, spacing_mm: -1 }), ["halves", "spacing_mm"]);
  assert.deepEqual(paths([{ job: alto, halves: 1 }], { ...sheet, metal: { length_mm: 60, width_mm: 60 } }), ["metal"]);
  assert.deepEqual(paths([{ job: "{", halves: 1 }], { ...sheet, halves: 0 }), ["halves", ""]);
  assert.deepEqual(paths([{ job: alto, halves: 1 }, { job: textOf(jobFile("tenor")), halves: 2 }], sheet), ["orders[1].tube"]);
  assert.deepEqual(paths([{ job: alto, halves: 1 }, { job: alto, halves: "many" }], sheet), ["orders[1].halves"]);
  for (const orders of [[], undefined, 7, [7], [{}]]) assert.ok(!blanks.setOrders(orders ?? [], sheet).ok, JSON.stringify(orders));
  for (const bad of ["", "[]", "null", 7, {}, { ...sheet, metal: 7 }, { ...sheet, metal: { border: [], holes: [] } }]) assert.ok(!blanks.setOrders([{ job: alto, halves: 1 }], bad).ok, JSON.stringify(bad));
  assert.ok(blanks.setOrders([{ job: alto, halves: 1 }], sheet).ok);
  blanks.start(1);
  blanks.step(3);
  assert.ok(!blanks.setOrders([{ job: alto, halves: 1 }], { ...sheet, halves: 0 }).ok);
  assert.ok(blanks.best().rounds >= 3, "what stood before stands");
  assert.throws(() => blanks.files("a3"), /a4/);
  blanks.free();
});

test("the schema explains every field of a sheet file", () => {
  const { properties } = sheetSchema();
  assert.deepEqual(Object.keys(properties).sort(), Object.keys(JSON.parse(textOf(sheetFile("strip_300")))).sort());
  for (const [name, property] of Object.entries(properties)) assert.match(property.description ?? "", /\.$/, name);
});
