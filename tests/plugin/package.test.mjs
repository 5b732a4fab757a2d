// The plug-in package as a stranger would use it: from Node, from the built files alone, its results held against the
// host's, which come from the command of the same crate.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { pathToFileURL } from "node:url";
import { PKG, ROOT } from "../../web/scripts/paths.mjs";
import { scratchFolder } from "../scratch.mjs";

const { Helper, initSync, jobSchema, Neck, startingJob } = await import(pathToFileURL(join(PKG, "neckwright.js")));
initSync({ module: readFileSync(join(PKG, "neckwright_bg.wasm")) });

/** Chord of the command's STL when none is asked for. */
const USUAL_CHORD_MM = 0.01;
const jobText = (name) => readFileSync(join(ROOT, "examples", "jobs", `${name}.json`), "utf8");
const neckOf = (job) => {
  const neck = new Neck();
  const result = neck.setJob(job);
  assert.ok(result.ok, JSON.stringify(result.violations));
  return neck;
};

const folder = scratchFolder();

for (const name of ["alto", "tenor"]) {
  describe(`${name}: wasm and host give the same`, () => {
    let out;
    let neck;
    before(() => {
      out = join(folder, name);
      execFileSync("cargo", ["run", "--release", "--quiet", "--example", "export_job", "--", join("examples", "jobs", `${name}.json`), out], { cwd: ROOT, stdio: ["ignore", "ignore", "inherit"] });
      neck = neckOf(jobText(name));
    });
    after(() => neck.free());

    const same = (what, bytes, file) => assert.ok(Buffer.from(bytes).equals(readFileSync(join(out, file))), `${what} differs from ${file}`);

    test("STEP of the assembly, byte for byte", () => same("the assembly", neck.assemblyStep(), "assembly.step"));

    test("STEP and STL of every part, byte for byte", () => {
      const files = readdirSync(join(out, "parts"));
      assert.ok(files.length >= 36);
      for (const file of files) {
        const [part, kind] = file.split(".");
        same(file, kind === "step" ? neck.partStep(part) : neck.partStl(part, USUAL_CHORD_MM), join("parts", file));
      }
      assert.ok(files.includes("half_left.step") && files.includes("half_right.step"));
    });

    test("STEP of every keep-out, byte for byte", () => {
      for (const file of readdirSync(join(out, "keepouts"))) same(file, neck.partStep(file.split(".")[0]), join("keepouts", file));
    });

    test("the list of clearances, number for number", () => {
      const file = readFileSync(join(out, "clearances.json"), "utf8");
      assert.equal(neck.clearancesText(), file);
      // the joints, and the ways out where something fails, are asked for by themselves
      const { ways_out, ...list } = JSON.parse(file);
      const { joints, ...findings } = list.findings;
      assert.equal(ways_out, undefined);
      assert.deepEqual(neck.clearances(), { ...list, findings });
      assert.deepEqual(neck.joints(), joints);
    });

    test("the summary, number for number", () => {
      assert.deepEqual(neck.summary(), JSON.parse(readFileSync(join(out, "summary.json"), "utf8")));
    });
  });
}

test("a job goes in as an object or as text, and comes out as it went in", () => {
  const job = startingJob("alto");
  const neck = neckOf(job);
  assert.deepEqual(neck.job(), job);
  assert.deepEqual(JSON.parse(neck.jobText()), job);
  const other = neckOf(neck.jobText());
  assert.deepEqual(other.clearances(), neck.clearances());
  neck.free();
  other.free();
});

test("starting jobs are the shipped ones", () => {
  for (const voice of ["alto", "tenor"]) assert.deepEqual(startingJob(voice), JSON.parse(jobText(voice)));
});

test("the schema names every section of a job", () => {
  const schema = jobSchema();
  assert.deepEqual(Object.keys(schema.properties).sort(), [...new Set([...Object.keys(startingJob("alto")), "badge"])].sort());
  assert.equal(schema.$defs.TubeByWall.properties.wall_mm["x-unit"], "mm");
});

test("parts come with what a page needs, and every one has a watertight mesh", () => {
  const neck = neckOf(startingJob("alto"));
  const parts = neck.parts();
  const measures = new Map(neck.summary().parts.map((part) => [part.id, part]));
  assert.equal(new Set(parts.map(({ id }) => id)).size, parts.length);
  for (const part of parts) {
    assert.match(part.colour, /^#[0-9a-f]{6}$/);
    assert.ok(part.name.length > 0 && part.madeBy.length > 0);
    const measure = measures.get(part.id);
    if (part.keepout) assert.deepEqual([part.metal, part.metalName, measure], [null, null, undefined]);
    else assert.ok(part.metalName.length > 0 && measure.volume_mm3 > 0 && measure.area_mm2 > 0 && measure.mass_g > 0);
    const { positions, normals, indices } = neck.mesh(part.id, 0.1);
    assert.ok(positions instanceof Float32Array && normals instanceof Float32Array && indices instanceof Uint32Array);
    assert.equal(positions.length, normals.length);
    assert.ok(indices.every((index) => index < positions.length / 3));
    assertWatertight(part, positions, indices);
    for (let axis = 0; axis < 3; axis += 1) {
      const values = positions.filter((_, index) => index % 3 === axis);
      assert.ok(values.every((value) => value > part.bboxMm[0][axis] - 0.02 && value < part.bboxMm[1][axis] + 0.02), `${part.id} stays in its box`);
    }
  }
  neck.free();
});

/** Every edge is used once each way. Corners are taken as one where they are the same place: normals split them. */
function assertWatertight({ id }, positions, indices) {
  const places = new Map();
  const place = (index) => {
    const key = `${positions[index * 3]},${positions[index * 3 + 1]},${positions[index * 3 + 2]}`;
    if (!places.has(key)) places.set(key, places.size);
    return places.get(key);
  };
  const edges = new Map();
  for (let index = 0; index < indices.length; index += 3) {
    const corners = [place(indices[index]), place(indices[index + 1]), place(indices[index + 2])];
    // what single precision has pulled together is no triangle any more
    if (new Set(corners).size < 3) continue;
    for (let side = 0; side < 3; side += 1) {
      const [from, to] = [corners[side], corners[(side + 1) % 3]];
      const key = from < to ? `${from}-${to}` : `${to}-${from}`;
      edges.set(key, (edges.get(key) ?? 0) + (from < to ? 1 : -1));
    }
  }
  assert.equal([...edges.values()].filter((sum) => sum !== 0).length, 0, `${id} has open edges`);
}

test("only what depends on a change is rebuilt", () => {
  const neck = new Neck();
  const job = startingJob("alto");
  const first = neck.setJob(job);
  assert.deepEqual([...first.rebuilt].sort(), neck.parts().map(({ id }) => id).sort());
  assert.deepEqual(neck.setJob(job).rebuilt, []);
  job.brace.thickness_mm += 0.1;
  assert.deepEqual(neck.setJob(job).rebuilt, ["brace"]);
  job.bore.entry_diameter_mm += 0.1;
  const { rebuilt } = neck.setJob(job);
  for (const part of ["tube", "tenon", "saddle", "key_arm"]) assert.ok(rebuilt.includes(part), `${part} depends on the bore`);
  neck.free();
});

test("what has changed of a list makes the list before it the list that is", () => {
  const job = startingJob("alto");
  const neck = neckOf(job);
  assert.equal(neck.clearanceChangesText(), undefined, "nothing was told yet");
  const told = neck.clearances();
  // the same changes one by one, told whole each time, and told as objects
  const whole = neckOf(job);
  const asObjects = neckOf(job);
  assert.equal(asObjects.clearanceChanges(), undefined, "nothing was told yet");
  asObjects.clearances();
  for (const [part, by] of [["brace", 0.3], ["saddle", -0.4], ["guide", 0.2], ["vent", 0.1]]) {
    job[part][part === "brace" ? "from_station_mm" : "station_mm"] += by;
    assert.ok(neck.setJob(job).ok);
    const changes = JSON.parse(neck.clearanceChangesText());
    asObjects.setJob(job);
    assert.deepEqual(asObjects.clearanceChanges(), changes, part);
    for (const [at, row] of changes.pairs) told.pairs[at] = row;
    for (const [at, row] of changes.turned) told.neck_turned.pairs[at] = row;
    Object.assign(told, { failed: changes.failed });
    told.neck_turned.failed = changes.turned_failed;
    whole.setJob(job);
    const { findings, ...list } = whole.clearances();
    assert.deepEqual({ ...told, findings: undefined }, { ...list, findings: undefined }, part);
    const count = changes.pairs.length + changes.turned.length;
    assert.ok(count > 0 && count < told.pairs.length, `${count} rows`);
  }
  assert.deepEqual(JSON.parse(neck.clearanceChangesText()), { pairs: [], failed: told.failed, turned: [], turned_failed: told.neck_turned.failed });
  job.badge = { station_mm: 84, azimuth_deg: 90, length_mm: 8, width_mm: 6, thickness_mm: 0.6, metal: job.saddle.metal };
  assert.ok(neck.setJob(job).ok);
  assert.equal(neck.clearanceChangesText(), undefined, "with another part there are other rows");
  asObjects.setJob(job);
  assert.equal(asObjects.clearanceChanges(), undefined, "however it is told");
  neck.free();
  whole.free();
  asObjects.free();
});

test("a neck that a helper measured some rows of is the neck of one core", () => {
  const job = startingJob("alto");
  const neck = neckOf(job);
  const alone = neckOf(job);
  const helper = new Helper();
  for (const [part, by] of [["vent", 0.4], ["saddle", -0.6], ["guide", 0.2]]) {
    job[part].station_mm += by;
    assert.equal(helper.setJob(job), true);
    const before = neck.clearances();
    const begun = neck.beginJob(job);
    assert.ok(begun.ok && begun.open.length > 20, `${begun.open?.length} rows are open`);
    const count = neck.measureNext();
    assert.equal(count, begun.open.length - 1);
    const rows = begun.open.slice(count >> 1).map((row) => helper.measure(row));
    neck.takeMeasured(Float64Array.from(rows.flatMap((row) => [...row])));
    assert.deepEqual(neck.clearances(), before, "until it is finished the neck is the one before");
    while (neck.measureNext() > 0);
    // truth: the neck of one core, whose list is held against the host's above
    assert.deepEqual(neck.finishJob(), alone.setJob(job));
    assert.deepEqual(neck.clearances(), alone.clearances(), part);
  }
  const list = neck.clearances();
  assert.throws(() => neck.finishJob(), /no job was begun/);
  assert.throws(() => neck.takeMeasured(new Float64Array(3)), /no job was begun/);
  assert.equal(neck.measureNext(), 0);
  job.guide.station_mm += 0.1;
  assert.ok(neck.beginJob(job).ok);
  assert.throws(() => neck.takeMeasured(new Float64Array(3)), /no rows of the job/);
  assert.equal(helper.measure(1e9), undefined);
  const bad = neck.beginJob({ ...job, tube: { ...job.tube, wall_mm: 9 } });
  assert.ok(!bad.ok && bad.violations.some(({ path }) => path === "tube.wall_mm"));
  assert.equal(helper.setJob("{"), false);
  assert.deepEqual(neck.clearances(), list, "nothing of all this is seen");
  for (const one of [neck, alone, helper]) one.free();
});

test("a bad job is answered with every violation at once, and the last good neck stays", () => {
  const neck = neckOf(startingJob("alto"));
  const before = neck.clearances();
  const job = startingJob("alto");
  job.tube.wall_mm = 9;
  job.vent.station_mm = -3;
  job.brace.form = "glued";
  delete job.cork;
  job.surprise = 1;
  const result = neck.setJob(job);
  assert.equal(result.ok, false);
  const paths = result.violations.filter(({ severity }) => severity === "error").map(({ path }) => path);
  for (const path of ["tube.wall_mm", "vent.station_mm", "brace.form", "cork", "surprise"]) assert.ok(paths.includes(path), `${path} is named among ${paths}`);
  for (const violation of result.violations) {
    assert.deepEqual(Object.keys(violation).sort(), ["allowed", "path", "severity", "value", "why"]);
    assert.ok(violation.why.length > 0);
  }
  assert.equal(result.violations.find(({ path }) => path === "tube.wall_mm").value, 9);
  assert.deepEqual(neck.clearances(), before);
  assert.deepEqual(neck.job(), startingJob("alto"));
  neck.free();
});

test("nothing that is handed in as a job makes it fall", () => {
  const neck = new Neck();
  const cyclic = {};
  cyclic.self = cyclic;
  for (const job of ["", "{", "null", "[]", "7", '"job"', "{}", {}, [], null, undefined, 7, Number.NaN, () => 1, new Map(), "x".repeat(100_000), "[".repeat(100_000), cyclic]) {
    const result = neck.setJob(job);
    assert.equal(result.ok, false);
    assert.ok(result.violations.length > 0);
  }
  assert.equal(neck.job(), undefined);
  assert.deepEqual(neck.parts(), []);
  const broken = startingJob("alto");
  for (const [section, field, value] of [["bore", "half_angle_deg", Number.NaN], ["tube", "wall_mm", Infinity], ["tenon", "length_mm", "20"], ["centreline", "pieces", []], ["centreline", "pieces", [{ bend_deg: 1e308, radius_mm: 1e308 }]]]) {
    assert.equal(neck.setJob({ ...broken, [section]: { ...broken[section], [field]: value } }).ok, false, `${section}.${field} ${value}`);
  }
  assert.ok(neck.setJob(broken).ok, "and it works as before");
  neck.free();
});

test("an unknown part or chord is refused with a message, and the neck is as it was", () => {
  const neck = neckOf(startingJob("alto"));
  for (const ask of [() => neck.mesh("nose", 0.1), () => neck.partStep("nose"), () => neck.partStl("", 0.1), () => neck.mesh("tube", 0), () => neck.mesh("tube", Number.NaN), () => neck.partStl("tube", -1), () => neck.mesh("tube", 1e9), () => neck.mesh("tube", 1e-9)]) {
    assert.throws(ask, (error) => error instanceof Error && !(error instanceof WebAssembly.RuntimeError) && error.message.length > 5);
  }
  assert.ok(neck.mesh("half_left", 0.1).indices.length > 0);
  neck.free();
});

test("a pair that the key moves has three rows, and the list at an angle gives the same at its ends", () => {
  const moves = new Map();
  for (const name of ["alto", "alto_clash", "smallest"]) {
    const neck = neckOf(jobText(name));
    const list = neck.clearances();
    const open = neck.openAngleDeg();
    const key = new Set(neck.parts().flatMap(({ id, movesWithKey }) => (movesWithKey ? [id] : [])));
    const byPair = new Map();
    for (const row of list.pairs) byPair.set(`${row.a}|${row.b}`, [...(byPair.get(`${row.a}|${row.b}`) ?? []), row]);
    for (const [pair, rows] of byPair) {
      const [a, b] = pair.split("|");
      const poses = rows.map(({ pose }) => pose);
      assert.deepEqual(poses, key.has(a) === key.has(b) ? ["static"] : ["closed", "open", "swing"], `${name}: ${pair}`);
      if (poses.length === 1) continue;
      const [closed, opened, swing] = rows;
      assert.equal(closed.key_angle_deg, 0);
      assert.ok(Math.abs(opened.key_angle_deg - open) < 1e-6);
      assert.ok(swing.key_angle_deg >= 0 && swing.key_angle_deg <= open + 1e-6);
      // lower bounds are guaranteed, not least
      if (swing.at_least !== true) for (const end of [closed, opened]) assert.ok(swing.gap_mm - swing.overlap_mm <= end.gap_mm - end.overlap_mm + 1e-4, `${name}: the swing of ${pair} is least`);
    }
    for (const [pose, angle] of [["closed", 0], ["open", open]]) {
      const at = neck.clearancesAt(angle);
      assert.deepEqual([at.format, at.neck_turned, at.findings], [list.format, undefined, undefined]);
      assert.equal(at.pairs.length, byPair.size);
      assert.equal(at.failed, at.pairs.filter(({ ok }) => !ok).length);
      for (const row of at.pairs) {
        const rows = byPair.get(`${row.a}|${row.b}`);
        const same = rows.find((candidate) => candidate.pose === (rows.length === 1 ? "static" : pose));
        assert.equal(row.pose, rows.length === 1 ? "static" : "at");
        moves.set(row.pose, (moves.get(row.pose) ?? 0) + 1);
        assert.equal(row.state, same.state, `${name} ${pose}: ${row.a} to ${row.b}`);
        // how far the list is exact beyond 3 mm depends on what hands may take of the gap
        assert.ok(row.at_least === same.at_least || (row.at_least === true && same.gap_mm >= 3), `${name} ${pose}: ${row.a} to ${row.b}`);
        // the list's promise is 0.00001 mm for a gap, and 0.001 for a depth; a lower bound may be any
        if (row.at_least !== true) assert.ok(Math.abs(row.gap_mm - same.gap_mm) <= 1e-5 && Math.abs(row.overlap_mm - same.overlap_mm) <= 1e-3, `${name} ${pose}: ${row.a} to ${row.b}, ${row.gap_mm} and ${same.gap_mm}`);
      }
    }
    neck.free();
  }
  assert.ok(moves.get("at") > 300 && moves.get("static") > 300);
});

test("an angle that no key turns to is refused, and so is one without a neck", () => {
  const neck = neckOf(startingJob("alto"));
  for (const angle of [Number.NaN, Infinity, -Infinity, 91, -91, undefined]) assert.throws(() => neck.clearancesAt(angle), /from -90 to 90 degrees/);
  assert.ok(neck.clearancesAt(-0.5).failed > 0, "past closed the pad goes into the vent");
  const empty = new Neck();
  for (const ask of [() => empty.clearancesAt(0), () => empty.openAngleDeg(), () => empty.axes(), () => empty.joints(), () => empty.changes("tube", "vent"), () => empty.wayOut("tube", "vent", 0)]) assert.throws(ask, /no job has been built yet/);
  for (const one of [neck, empty]) one.free();
});

test("the neck across at a station is the cone of the job, square to its centreline", () => {
  const job = startingJob("alto");
  const neck = neckOf(job);
  const [straight, first, second, last] = job.centreline.pieces;
  const rad = (deg) => (deg * Math.PI) / 180;
  const length = straight.straight_mm + rad(first.bend_deg) * first.radius_mm + rad(second.bend_deg) * second.radius_mm + last.straight_mm;
  const bore = (station) => job.bore.entry_diameter_mm + 2 * station * Math.tan(rad(job.bore.half_angle_deg));
  // halfway through the first bend the centreline has turned down by half of it
  const half = rad(first.bend_deg / 2);
  const there = straight.straight_mm + half * first.radius_mm;
  const close = (one, other) => assert.ok(Math.abs(one - other) < 1e-9, `${one} is ${other}`);
  const across = neck.across(there);
  close(across.lengthMm, length);
  close(across.boreDiameterMm, bore(there));
  close(across.outsideDiameterMm, bore(there) + 2 * job.tube.wall_mm);
  close(across.wallMm, job.tube.wall_mm);
  [straight.straight_mm + first.radius_mm * Math.sin(half), 0, -first.radius_mm * (1 - Math.cos(half))].forEach((value, axis) => close(across.centreMm[axis], value));
  [Math.cos(half), 0, -Math.sin(half)].forEach((value, axis) => close(across.towardsTenon[axis], value));
  // beyond its end in the socket there is no tube any more, and beyond the neck no station
  const end = length - job.tenon.length_mm - job.tenon.collar_length_mm + job.tenon.socket_depth_mm;
  assert.equal(neck.across(end - 0.01).wallMm, job.tube.wall_mm);
  for (const field of ["wallMm", "outsideDiameterMm"]) assert.equal(neck.across(end + 0.01)[field], null);
  close(neck.across(1000).stationMm, length);
  assert.equal(neck.across(-5).stationMm, 0);
  for (const station of [Number.NaN, Infinity, undefined]) assert.throws(() => neck.across(station), /a station is a length/);
  neck.free();
});

test("key and horn turn about axes that go through the middle of hinge tube and tenon", () => {
  const neck = neckOf(startingJob("alto"));
  const { key, horn } = neck.axes();
  const hinge = neck.parts().find(({ id }) => id === "hinge_tube").bboxMm;
  for (const axis of [0, 2]) assert.ok(Math.abs((hinge[0][axis] + hinge[1][axis]) / 2 - key.pointMm[axis]) < 1e-6);
  assert.deepEqual(key.direction, [0, 1, 0]);
  // the alto bends down by 95 degrees, so its tenon points back under it by 5
  const down = (95 * Math.PI) / 180;
  [Math.cos(down), 0, -Math.sin(down)].forEach((value, axis) => assert.ok(Math.abs(horn.direction[axis] - value) < 1e-9));
  neck.free();
});

test("what is to be known beside the clearances says what is asked and why", () => {
  const job = startingJob("alto");
  job.pad.rim_margin_mm = 3;
  const neck = neckOf(job);
  const { findings } = neck.clearances();
  const all = [...findings.key, ...findings.running, ...findings.walls, ...findings.access];
  for (const finding of all) {
    assert.ok(finding.what.length > 0 && finding.why.length > 0);
    const { value, asked_min: least, asked_max: most } = finding;
    const asked = value !== null && (least !== null || most !== null);
    assert.equal(finding.ok, asked ? value >= (least ?? -Infinity) && value <= (most ?? Infinity) : null, finding.id);
  }
  // (9 - 4.5) / 2 by hand
  const margin = all.find(({ id }) => id === "rim_margin");
  assert.deepEqual([margin.value, margin.asked_min, margin.ok], [2.25, 3, false]);
  assert.equal(findings.not_as_asked, all.filter(({ ok }) => ok === false).length);
  neck.free();
});

test("every joint is told with its numbers and the place that matters", () => {
  const job = startingJob("alto");
  const neck = neckOf(job);
  const joints = neck.joints();
  const tenon = joints.find(({ a, b }) => a === "tube" && b === "tenon");
  const number = (id) => tenon.numbers.find((finding) => finding.id === id);
  // coaxial cones: the same gap all round, the job's own
  for (const id of ["gap_least", "gap_mean", "gap_greatest"]) assert.ok(Math.abs(number(id).value - job.limits.joint_gap_mm) < 5e-4, id);
  assert.equal(number("hot_gap_least").asked_min, job.limits.joint_gap_min_mm);
  for (const joint of joints) {
    const box = neck.parts().find(({ id }) => id === joint.b).bboxMm;
    joint.worst_point_mm.forEach((at, axis) => assert.ok(at > box[0][axis] - 0.3 && at < box[1][axis] + 0.3, `${joint.a} to ${joint.b}`));
    for (const { value, asked_min, asked_max, ok } of joint.numbers) {
      assert.equal(ok, value === null || (asked_min === null && asked_max === null) ? null : value >= (asked_min ?? -Infinity) && value <= (asked_max ?? Infinity));
    }
  }
  neck.free();
});

test("a way out that is taken clears the pair, and leaves the gap that it told", () => {
  const job = JSON.parse(jobText("alto_clash"));
  const neck = neckOf(job);
  const failing = neck.clearances().pairs.filter(({ ok }) => !ok);
  assert.ok(failing.some(({ a, b }) => a === "saddle" && b === "badge"));
  const changes = neck.changes("saddle", "badge");
  assert.equal(changes.length, 6);
  for (const words of changes) assert.match(words, /^\S.* \/ .*\S$/);
  const badge = changes.findIndex((words) => words.startsWith("move the badge towards the tenon / "));
  const way = neck.wayOut("saddle", "badge", badge);
  assert.deepEqual([way.words, way.unit, way.clears_all], ["move the badge towards the tenon", "mm", true]);
  assert.deepEqual(way.fields, [{ path: "badge.station_mm", from: job.badge.station_mm, to: Number((job.badge.station_mm + way.by).toFixed(4)) }]);
  assert.equal(neck.wayOut("saddle", "badge", changes.findIndex((words) => words.startsWith("make the saddle longer"))), undefined, "no length of the saddle will do");
  assert.equal(neck.wayOut("saddle", "badge", changes.findIndex((words) => words.startsWith("move the saddle"))), undefined, "there the pin's travel no longer lifts the pad");
  assert.deepEqual(neck.changes("nose", "chin"), []);
  assert.throws(() => neck.wayOut("saddle", "badge", changes.length), /there is no such change for this pair/);
  assert.deepEqual(neck.job(), job, "looking changes nothing");

  job.badge.station_mm = way.fields[0].to;
  assert.ok(neck.setJob(job).ok);
  const list = neck.clearances();
  assert.equal(list.failed, 0);
  assert.deepEqual(list.pairs.find(({ a, b }) => a === way.tightest.a && b === way.tightest.b), way.tightest);
  // a hundredth of a millimetre less is not enough
  job.badge.station_mm -= 0.02;
  assert.ok(neck.setJob(job).ok);
  assert.ok(neck.clearances().failed > 0, "it is the least that will do");
  neck.free();
});

test("what hands leave of a gap stands where something is asked, and is never more than the gap", () => {
  const neck = neckOf(jobText("alto_clash"));
  const { pairs, neck_turned: turned } = neck.clearances();
  const rows = [...pairs, ...turned.pairs];
  for (const row of rows) {
    assert.equal(row.by_hand_ok === null, row.by_hand_mm === null, `${row.a} to ${row.b}`);
    if (row.by_hand_mm === null) continue;
    assert.ok(row.required_min_mm !== null && row.relation === "free");
    // of two lower bounds either may be the closer one; a depth is promised to 0.001 mm
    if (row.at_least !== true) assert.ok(row.by_hand_mm <= row.gap_mm - row.overlap_mm + (row.overlap_mm > 0 ? 1e-3 : 1e-6), `${row.a} to ${row.b}`);
  }
  const judged = rows.filter(({ by_hand_mm }) => by_hand_mm !== null);
  assert.ok(judged.some(({ by_hand_ok }) => by_hand_ok) && judged.some(({ by_hand_ok }) => !by_hand_ok) && judged.length < rows.length);
  neck.free();
});

test("two necks know nothing of one another", () => {
  const alto = neckOf(startingJob("alto"));
  const list = alto.clearances();
  const tenor = neckOf(startingJob("tenor"));
  assert.equal(tenor.job().horn_voice, "tenor");
  assert.deepEqual(alto.clearances(), list);
  tenor.free();
  assert.deepEqual(alto.clearances(), list);
  alto.free();
});

test("a thousand changes leave no memory behind", () => {
  const neck = neckOf(startingJob("alto"));
  const memory = () => initSync({ module: new Uint8Array() }).memory.buffer.byteLength;
  const job = startingJob("alto");
  const change = (round) => {
    job.brace.thickness_mm = 1 + (round % 10) / 100;
    assert.ok(neck.setJob(job).ok);
    neck.mesh("brace", 0.1);
  };
  for (let round = 0; round < 100; round += 1) change(round);
  const settled = memory();
  for (let round = 0; round < 900; round += 1) change(round);
  assert.equal(memory(), settled);
  neck.free();
});

/** Checks a TypeScript source against the package's types. */
function compile(name, source) {
  writeFileSync(join(folder, name), source);
  const compiler = join(ROOT, "node_modules", "typescript", "bin", "tsc");
  const flags = ["--noEmit", "--strict", "--exactOptionalPropertyTypes", "--target", "es2022", "--module", "esnext", "--moduleResolution", "bundler", "--lib", "es2023,dom,esnext.disposable", "--types", ""];
  try {
    execFileSync(process.execPath, [compiler, ...flags, join(folder, name)], { encoding: "utf8", stdio: "pipe" });
  } catch (error) {
    assert.fail(error.stdout);
  }
}

test("what the core gives is what its types say, to the last null", () => {
  // a clash and a neck of the smallest sizes: rows that fail, rows that only say "at least", keep-outs without metal
  const necks = [startingJob("alto"), jobText("alto_clash"), jobText("smallest")].map(neckOf);
  const values = (of) => JSON.stringify(necks.map(of));
  const refused = new Neck().setJob({ ...startingJob("alto"), surprise: null });
  compile(
    "values.ts",
    `import type { Across, Axes, ClearanceList, Job, JointFinding, PartInfo, SetJobResult, Summary, WayOut } from ${JSON.stringify(join(PKG, "neckwright.js"))};

export const jobs: Job[] = ${values((neck) => neck.job())};
export const parts: PartInfo[][] = ${values((neck) => neck.parts())};
export const lists: ClearanceList[] = ${values((neck) => ({ ...neck.clearances(), pairs: sampleOf(neck.clearances().pairs) }))};
export const listsAt: ClearanceList[] = ${values((neck) => ({ ...neck.clearancesAt(1), pairs: sampleOf(neck.clearancesAt(1).pairs) }))};
export const across: Across[] = ${values((neck) => neck.across(60))};
export const ends: Across[] = ${values((neck) => neck.across(1000))};
export const axes: Axes[] = ${values((neck) => neck.axes())};
export const joints: JointFinding[][] = ${values((neck) => neck.joints())};
export const ways: WayOut[] = ${JSON.stringify([3].map((change) => necks[1].wayOut("saddle", "badge", change)))};
export const summaries: Summary[] = ${values((neck) => neck.summary())};
export const results: SetJobResult[] = [${JSON.stringify(refused)}, ${JSON.stringify(necks[0].setJob(startingJob("alto")))}];

type Part = PartInfo;
type Row = ClearanceList["pairs"][number];
type Turned = NonNullable<ClearanceList["neck_turned"]>["pairs"][number];
type Finding = NonNullable<ClearanceList["findings"]>["key"][number];
/** Nothing but what arrives: \`null\` and never \`undefined\`. */
type Same<A, B> = [A] extends [B] ? ([B] extends [A] ? true : false) : false;
export const nullable: [
  Same<Part["metal"], string | null>,
  Same<Part["metalName"], string | null>,
  Same<Row["key_angle_deg"], number | null>,
  Same<Row["required_min_mm"], number | null>,
  Same<Row["required_max_mm"], number | null>,
  Same<Turned["key_angle_deg"], number | null>,
  Same<Turned["horn_angle_deg"], number>,
  Same<Row["by_hand_mm"], number | null>,
  Same<Row["by_hand_ok"], boolean | null>,
  Same<Turned["by_hand_mm"], number | null>,
  Same<Turned["by_hand_ok"], boolean | null>,
  Same<JointFinding["worst_point_mm"], [number, number, number] | null>,
  Same<WayOut["tightest"], Row | null>,
  Same<Across["wallMm"], number | null>,
  Same<Finding["value"], number | null>,
  Same<Finding["asked_min"], number | null>,
  Same<Finding["asked_max"], number | null>,
  Same<Finding["ok"], boolean | null>,
  Same<Row["pose"], "static" | "closed" | "open" | "swing" | "at">,
] = [true, true, true, true, true, true, true, true, true, true, true, true, true, true, true, true, true, true, true];
`,
  );
  for (const neck of necks) neck.free();
});

/** One row of every make: relation, pose, state, and which of its fields are null or left out. */
function sampleOf(pairs) {
  const makes = new Map(pairs.map((pair) => [`${Object.keys(pair)} ${Object.values(pair).map((value) => value === null)} ${pair.relation} ${pair.pose} ${pair.state}`, pair]));
  assert.ok([...makes.values()].some((pair) => pair.required_min_mm === null) && [...makes.values()].some((pair) => pair.key_angle_deg === null));
  return [...makes.values()];
}

test("the types fit the package, and refuse what it would refuse", () => {
  compile(
    "use.ts",
    `import init, { initSync, jobSchema, Neck, startingJob } from ${JSON.stringify(join(PKG, "neckwright.js"))};
import type { ClearanceList, Job, PartInfo, SetJobResult, Violation, WayOut } from ${JSON.stringify(join(PKG, "neckwright.js"))};

export async function use(bytes: Uint8Array<ArrayBuffer>): Promise<string[]> {
  await init();
  initSync({ module: bytes });
  const neck = new Neck();
  const job: Job = startingJob("alto");
  job.brace.thickness_mm = 1.2;
  job.badge = null;
  const result: SetJobResult = neck.setJob(job);
  neck.setJob("{}");
  if (!result.ok) return result.violations.map((violation: Violation) => violation.path + violation.why);
  const rebuilt: string[] = result.rebuilt;
  const parts: PartInfo[] = neck.parts();
  const list: ClearanceList = neck.clearances();
  const x: number | undefined = list.pairs[0]?.a_point_mm[0];
  const triangles: number = neck.mesh("tube", 0.1).indices.length / 3;
  const bytesOut: Uint8Array[] = [neck.assemblyStep(), neck.partStep("tube"), neck.partStl("tube", 0.01)];
  const [low, high] = parts[0]!.bboxMm;
  const text: string | undefined = neck.jobText();
  const again: Job | undefined = neck.job();
  const at: ClearanceList = neck.clearancesAt(neck.openAngleDeg() / 2);
  const turned: number | undefined = list.neck_turned?.pairs[0]?.horn_angle_deg;
  const [hingeX] = neck.axes().key.pointMm;
  const joint: number | undefined = neck.joints()[0]?.worst_point_mm?.[0];
  const [words]: string[] = neck.changes("saddle", "badge");
  const way: WayOut | undefined = neck.wayOut("saddle", "badge", 0);
  const field: { path: string; from: number; to: number } | undefined = way?.fields[0];
  const byHand: number | null = list.pairs[0]!.by_hand_mm;
  void [joint, words, field, byHand, at, turned, hingeX, x, triangles, bytesOut, low[0], high[2], text, again, jobSchema(), neck.summary()];
  // @ts-expect-error no such voice is shipped
  startingJob("bass");
  // @ts-expect-error no such field
  job.brace.colour = "red";
  // @ts-expect-error a length is a number
  job.tube.wall_mm = "thin";
  // @ts-expect-error no such way of meeting the tube
  job.brace.form = "glued";
  // @ts-expect-error no such pose
  const pose: "sideways" = list.pairs[0]!.pose;
  neck.free();
  return rebuilt.concat(pose);
}
`,
  );
});

test("the example for Node says what does not fit and writes a part", () => {
  const out = join(folder, "rod_loop.step");
  const printed = execFileSync(process.execPath, [join("examples", "embed", "node.mjs"), join("examples", "jobs", "alto_clash.json"), "rod_loop", out], { cwd: ROOT, encoding: "utf8" });
  const failed = Number(/(\d+) of \d+ clearances are not within their limits/.exec(printed)[1]);
  assert.ok(failed > 0);
  assert.equal(printed.trim().split("\n").length, failed + 2);
  assert.ok(readFileSync(out, "latin1").startsWith("ISO-10303-21;"));
});

test("the package carries all it names, and nothing of a page", () => {
  const manifest = JSON.parse(readFileSync(join(PKG, "package.json"), "utf8"));
  for (const file of manifest.files) assert.ok(readdirSync(PKG).includes(file), file);
  const script = readFileSync(join(PKG, "neckwright.js"), "utf8");
  assert.doesNotMatch(script, /\b(document|window|localStorage|XMLHttpRequest)\b/);
});
