// The module that compares bores as a stranger would use it from Node, held against the command.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, test } from "node:test";
import { pathToFileURL } from "node:url";
import { PKG, ROOT } from "../../web/scripts/paths.mjs";
import { scratchFolder } from "../scratch.mjs";

const { initSync, Bores, hornSchema, usualLimits } = await import(pathToFileURL(join(PKG, "neckwright_bore.js")));
initSync({ module: readFileSync(join(PKG, "neckwright_bore_bg.wasm")) });

const file = (name) => join(ROOT, "examples", "bores", `${name}.json`);
const NAMES = ["alto_tighter", "alto_more_open"];

const folder = scratchFolder();

function bores() {
  const bores = new Bores();
  NAMES.forEach((name, which) => assert.deepEqual(bores.setNeck(which, name, readFileSync(file(name), "utf8")), { ok: true }));
  return bores;
}

/** Numbers as the command's file rounds them: to a millionth. */
const rounded = (value) =>
  JSON.parse(JSON.stringify(value), (_, inner) => (typeof inner === "number" && !Number.isInteger(inner) ? Math.round(inner * 1e6) / 1e6 : inner));

describe("wasm and command say the same", () => {
  for (const horn of [undefined, "horn_invented"]) {
    test(horn ?? "a cone that stands in", () => {
      const options = horn ? ["--horn", file(horn)] : [];
      const run = ["run", "--release", "--quiet", "--example", "compare_bores", "--", ...NAMES.map(file), folder, ...options, "--aim", "A4=-3,C#5=-4", "--least-half-angle", "1.2"];
      const ran = spawnSync("cargo", run, { cwd: ROOT, encoding: "utf8" });
      assert.equal(ran.status, 0, ran.stderr);
      const two = bores();
      if (horn) assert.deepEqual(two.setHorn(readFileSync(file(horn), "utf8")), { ok: true });
      const compared = two.compare();
      assert.ok(compared.ok);
      const told = JSON.parse(readFileSync(join(folder, "comparison.json"), "utf8"));
      if (!horn) compared.comparison.horn.name = told.horn.name;
      assert.deepEqual(rounded(compared.comparison), rounded(told));
      const wanted = [
        { written: "A4", cents: -3 },
        { written: "C#5", cents: -4 },
      ];
      const aimed = two.aim({ wanted, limits: { least_half_angle_deg: 1.2 } });
      assert.ok(aimed.ok);
      assert.deepEqual(rounded(aimed.aimed), rounded(JSON.parse(readFileSync(join(folder, "aim.json"), "utf8"))));
      // the profile as the command's table has it, the open area at the vent among it
      const rows = readFileSync(join(folder, "profiles.csv"), "utf8").trim().split("\n").slice(1).map((line) => line.split(",").map(Number));
      for (const [station, first, second, by, , , , open] of rows) {
        const place = compared.comparison.b.profile.find(({ station_mm }) => Math.abs(station_mm - station) < 6e-4);
        assert.ok(Math.abs(place.diameter_mm - second) < 6e-5 && Math.abs(second - first - by) < 1.1e-4 && Math.abs(place.open_area_mm2 - open) < 6e-4, `${station}`);
      }
      assert.equal(rows.length, compared.comparison.b.profile.length);
      two.free();
    });
  }
});

test("a bore goes out as CSV and comes back; one that is wrong is refused with every row, and nothing is changed", () => {
  const two = bores();
  const { csv } = two.profileCsv(1, 10);
  assert.match(csv, /^station_mm,diameter_mm\n0\.000,12\.700\n/);
  const before = two.compare();
  const refused = two.setProfile(1, "0,12\n10,0\n5,13\n");
  assert.equal(refused.ok, false);
  assert.ok(refused.violations.length >= 3);
  assert.deepEqual(two.compare(), before);
  const read = two.readProfile(1, "0,12\n50,15\n100,17.9\n150,20\n193.2,23\n", 0.2);
  // Truth, by hand: half way between 15 and 20 the straight line is at 17.5; from 17.9 to 23 it is at 17.9 + 5.1 · 50/93.2 = 20.636
  assert.deepEqual(read.profile.rows[1], { station_mm: 50, diameter_mm: 15 });
  assert.deepEqual(read.bumps.map(({ station_mm, beyond_mm }) => [station_mm, beyond_mm.toFixed(3)]), [[100, "0.400"], [150, "-0.636"]]);
  assert.deepEqual(two.readProfile(1, "0,12\n10,0\n5,13\n", 0.2), two.setProfile(1, "0,12\n10,0\n5,13\n"));
  assert.deepEqual(two.compare(), before);
  assert.deepEqual(two.setProfile(1, two.profileCsv(0, 5).csv), { ok: true });
  const same = two.compare();
  assert.ok(same.ok);
  for (const note of same.comparison.notes) assert.ok(Math.abs(note.shift_cents) < 0.05, `${note.written} ${note.shift_cents}`);
  two.free();
});

test("2,000 frequencies of a neck on its horn in 500 slices are told; how long it takes is printed", () => {
  const two = bores();
  // 400 rows make 399 slices of the body; the neck has a hundred of 2 mm.
  const horn = JSON.parse(readFileSync(file("horn_invented"), "utf8"));
  horn.body.bore = Array.from({ length: 400 }, (_, k) => ({ station_mm: k * 2.2, diameter_mm: 23.1 + k * 2.2 * 0.056 }));
  assert.deepEqual(two.setHorn(horn), { ok: true });
  two.impedance(0, "Bb3", 40, 2000, 2000);
  const times = Array.from({ length: 9 }, () => {
    const start = performance.now();
    assert.equal(two.impedance(0, "Bb3", 40, 2000, 2000).pa_s_m3.length, 2000);
    return performance.now() - start;
  }).sort((a, b) => a - b);
  console.log(`impedance at 2,000 frequencies, 500 slices: ${times[0].toFixed(1)} ms`);
  two.free();
});

test("rubbish is answered with what is wrong, all of it, and nothing is changed", () => {
  const none = new Bores();
  const told = (answer) => {
    assert.equal(answer.ok, false);
    for (const { allowed, why } of answer.violations) assert.ok(allowed.length > 0 && why.endsWith("."));
    return answer.violations.map(({ path }) => path);
  };
  const job = readFileSync(file("alto_tighter"), "utf8");
  for (const which of [2, -1, 0.5, NaN, undefined, "x", Infinity, 4294967296]) assert.deepEqual(told(none.setNeck(which, "x", job)), ["which"], String(which));
  assert.deepEqual(told(none.setNeck(2, "x", "{}")).slice(0, 1), ["which"]);
  assert.ok(told(none.setNeck(2, "x", "{}")).length > 3, "the job's own faults come with it");
  assert.deepEqual(told(none.compare()), ["first", "second"]);
  assert.deepEqual(told(none.follow()), ["first", "second"]);
  assert.deepEqual(told(none.setProfile(0, "0,12\n")), ["first"]);
  assert.deepEqual(told(none.setProfile(3, "0,12\n")), ["which"]);
  assert.deepEqual(told(none.profileCsv(1, 0)), ["second", "every_mm"]);
  assert.deepEqual(told(none.readProfile(1, "", -1)), ["second", "limit_mm"]);
  assert.deepEqual(told(none.fair(7, "", NaN)), ["which", "limit_mm"]);
  assert.deepEqual(told(none.impedance(9, "A4", 0, -1, NaN)), ["which", "from_hz", "to_hz", "count", "first", "second"]);
  assert.deepEqual(told(none.aim({ wanted: [] })), ["first", "wanted"]);
  assert.deepEqual(told(none.aim({ wanted: [{ written: "A4", cents: "x" }, { written: "B4", cents: 1 }, { written: "B4", cents: 2 }] })), ["first", "wanted[0].cents", "wanted[2].written"]);
  none.free();
  const two = bores();
  const before = two.compare();
  assert.deepEqual(told(two.impedance(0, "H4", 40, 2000, 10)), ["written"]);
  assert.deepEqual(told(two.setNeck(2, "x", job)), ["which"]);
  assert.deepEqual(told(two.setHorn({ format: "neckwright-horn/1" })).length > 3, true);
  for (const asked of [null, 3, "none", [], { wanted: "A4" }]) assert.ok(told(two.aim(asked)).length > 0);
  assert.deepEqual(told(two.aim({ wanted: [{ written: "A4", cents: 400 }, { written: "H4", cents: "x" }], limits: { most_change_mm: -1, least_diameter_mm: 50 } })), ["wanted[0].cents", "wanted[1].cents", "limits.most_change_mm", "limits.greatest_diameter_mm", "wanted[1].written", "limits.least_diameter_mm"]);
  assert.deepEqual(two.compare(), before);
  two.free();
});

test("what follows the hand is the comparison, number for number, wherever the bore was dragged to", () => {
  const two = bores();
  for (const horn of [undefined, readFileSync(file("horn_invented"), "utf8")]) {
    assert.deepEqual(two.setHorn(horn), { ok: true });
    const rows = two.profileCsv(1, 10).csv.trim().split("\n").slice(1).map((line) => line.split(",").map(Number));
    for (const more of [0, 0.01, -0.6, 2]) {
      assert.deepEqual(two.setProfile(1, rows.map(([station, diameter], index) => `${station},${diameter + (index < 8 ? more : 0)}`).join("\n")), { ok: true });
      const { comparison } = two.compare();
      const { ok, followed } = two.follow();
      assert.ok(ok);
      const shift = ({ written, register, first_hz, shift_cents, uncertainty_cents, gauge_error_cents, height_change_db, noticed }) => ({ written, register, first_hz, shift_cents, uncertainty_cents, gauge_error_cents, height_change_db, noticed });
      assert.deepEqual(followed.notes, comparison.notes.map(shift));
      assert.deepEqual([followed.octaves, followed.missing_cone], [comparison.octaves, comparison.b.missing_cone]);
    }
    assert.deepEqual(two.setNeck(1, NAMES[1], readFileSync(file(NAMES[1]), "utf8")), { ok: true });
  }
  const times = Array.from({ length: 15 }, () => {
    const start = performance.now();
    two.follow();
    return performance.now() - start;
  }).sort((a, b) => a - b);
  console.log(`13 notes followed: ${times[0].toFixed(1)} ms`);
  two.free();
});

test("horn and mouthpiece are the first's; a bore without room for the vent is refused, by name", () => {
  const two = bores();
  const before = two.compare();
  const other = JSON.parse(readFileSync(file(NAMES[1]), "utf8"));
  const { receiver_depth_mm: depth } = other.horn;
  other.horn.receiver_depth_mm = depth + 0.8;
  assert.deepEqual(two.setNeck(1, NAMES[1], other), { ok: true });
  const { comparison } = two.compare();
  assert.deepEqual(comparison.notes, before.comparison.notes);
  assert.deepEqual(comparison.horn.not_used, [{ path: "horn.receiver_depth_mm", says_mm: depth + 0.8, used_mm: depth }]);
  // Truth, by hand: the hole for the vent, with its joint, may be 0.6 of the bore
  const least = (other.vent.outer_diameter_mm + 2 * other.limits.joint_gap_mm) / 0.6;
  const table = (atVent) => `0,11.9\n20,11.9\n${other.vent.station_mm},${atVent}\n110,17.9\n150,20.6\n193.2,23.09\n`;
  const refused = two.setProfile(1, table(least - 0.01));
  assert.deepEqual(refused.violations.map(({ path }) => path), ["vent.outer_diameter_mm"]);
  assert.deepEqual(two.compare().comparison, comparison);
  assert.deepEqual(two.setProfile(1, table(least + 0.01)), { ok: true });
  assert.ok(two.compare().comparison.broken.length > 0, "the saddle does not fit so narrow a tube, and that is told");
  two.free();
});

test("an aim whose limits are left out is sought within the usual ones", () => {
  const two = bores();
  const wanted = [{ written: "A4", cents: -3 }];
  assert.deepEqual(two.aim({ wanted, limits: usualLimits() }), two.aim({ wanted }));
  two.free();
});

test("the schema of a horn file explains every field", () => {
  assert.ok(hornSchema().properties.body.description.endsWith("."));
});
