// The module of the shop's files as a stranger would use it from Node, its archives held against the command's.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { describe, test } from "node:test";
import { pathToFileURL } from "node:url";
import { inflateRawSync } from "node:zlib";
import occtImport from "occt-import-js";
import { PKG, ROOT } from "../../web/scripts/paths.mjs";
import { scratchFolder } from "../scratch.mjs";

const { initSync, requestSchema, Shop } = await import(pathToFileURL(join(PKG, "neckwright_shop.js")));
initSync({ module: readFileSync(join(PKG, "neckwright_shop_bg.wasm")) });

const jobFile = (name) => join(ROOT, "examples", "jobs", `${name}.json`);
const shopOf = (name) => {
  const shop = new Shop();
  const result = shop.setJob(readFileSync(jobFile(name), "utf8"));
  assert.ok(result.ok, JSON.stringify(result.violations));
  return shop;
};

const folder = scratchFolder();

function command(job, options) {
  const out = join(folder, "out.zip");
  rmSync(out, { force: true });
  const ran = spawnSync("cargo", ["run", "--release", "--quiet", "--example", "send_out", "--", job, out, ...options], { cwd: ROOT, encoding: "utf8" });
  return { code: ran.status, told: ran.stderr, zip: ran.status === 0 ? readFileSync(out) : undefined };
}

describe("wasm and command give the same archive, byte for byte", () => {
  for (const [name, options, request] of [
    ["alto", [], {}],
    ["alto", ["--units", "both", "--projection", "third_angle"], { drawing: { units: "both", projection: "third_angle" } }],
    ["tenor", ["--force", "--step", "ap214"], { force: true, step: "ap214" }],
    [
      "alto",
      ["--parts", "bracex3,half_left,key_arm", "--necks", "2", "--metal", "brace=C51000", "--thickness", "brace=1.2", "--temper", "brace=half_hard", "--force"],
      {
        parts: [{ part: "brace", quantity: 3, metal: "C51000", thickness_mm: 1.2, temper: "half_hard" }, { part: "half_left" }, { part: "key_arm" }],
        necks: 2,
        force: true,
      },
    ],
    ["alto_clash", ["--force", "--chord", "0.05"], { force: true, chord_mm: 0.05 }],
  ]) {
    test(`${name} ${options.join(" ")}`, () => {
      const { zip, told } = command(jobFile(name), options);
      assert.ok(zip, told);
      const shop = shopOf(name);
      const packed = shop.package(request);
      shop.free();
      assert.ok(packed.ok, JSON.stringify(packed.violations));
      assert.ok(Buffer.from(packed.zip).equals(zip));
      const job = JSON.parse(readFileSync(jobFile(name), "utf8"));
      assert.equal(packed.fileName, `${job.order.number}_${job.order.serial}_shop_files.zip`);
      // the list names what is in the archive, whose names stand in it as they are
      for (const { file } of packed.list.files) assert.ok(zip.includes(file), file);
    });
  }
});

/** Names and contents of an archive, by its central directory (the format's published description). */
function* entries(zip) {
  const end = zip.length - 22;
  let at = zip.readUInt32LE(end + 16);
  for (let left = zip.readUInt16LE(end + 10); left > 0; left -= 1) {
    const [size, name, extra, comment, local] = [zip.readUInt32LE(at + 20), zip.readUInt16LE(at + 28), zip.readUInt16LE(at + 30), zip.readUInt16LE(at + 32), zip.readUInt32LE(at + 42)];
    const start = local + 30 + zip.readUInt16LE(local + 26) + zip.readUInt16LE(local + 28);
    yield [zip.toString("utf8", at + 46, at + 46 + name), inflateRawSync(zip.subarray(start, start + size))];
    at += 46 + name + extra + comment;
  }
}

test("every STEP file reads without a word in a reader that pages use, under its name and in its metal's colour", async () => {
  const told = [];
  const reader = await occtImport({ print: (line) => told.push(line), printErr: (line) => told.push(line) });
  const shop = shopOf("alto");
  const parts = new Map(shop.parts().map((part) => [part.id, part]));
  const colours = new Map();
  for (const step of ["ap242", "ap214"]) {
    const packed = shop.package({ step, force: true });
    const listed = new Map(packed.list.files.map((file) => [file.file, file]));
    let looked = 0;
    let damaged;
    for (const [name, bytes] of entries(Buffer.from(packed.zip))) {
      if (!name.endsWith(".step")) continue;
      looked += 1;
      const { success, root, meshes } = reader.ReadStepFile(bytes, { linearUnit: "millimeter" });
      assert.ok(success, name);
      assert.deepEqual(told, [], name);
      const { part, name: called } = listed.get(name);
      if (part === "neck") {
        assert.deepEqual(meshes.map((mesh) => mesh.name), [...parts.values()].filter(({ onTheNeck }) => onTheNeck).map(({ name: own }) => own));
        assert.match(root.children[0].name, /DEMO-001 .*A-0001/);
      } else {
        assert.equal(root.children[0].name, called);
        const { metal } = parts.get(part);
        if (!colours.has(metal)) colours.set(metal, String(meshes[0].color));
        assert.equal(String(meshes[0].color), colours.get(metal), name);
      }
      damaged ??= bytes;
    }
    assert.equal(looked, [...parts.values()].filter(({ onTheNeck }) => onTheNeck).length + 1);
    // such a reader does speak up: a file cut short is told
    const { success } = reader.ReadStepFile(damaged.subarray(0, damaged.length / 2), null);
    assert.ok(!success || told.length > 0);
    told.length = 0;
  }
  assert.ok(colours.size > 3 && new Set(colours.values()).size === colours.size, "each metal has a colour of its own");
  shop.free();
});

test("a request is answered with everything wrong, in the same words as by command", () => {
  const shop = shopOf("alto");
  const request = { parts: [{ part: "brace", quantity: 0 }, { part: "nosuch" }, { part: "receiver" }], name: "a/b", step: "ap203" };
  const { ok, violations } = shop.package(request);
  assert.deepEqual(shop.check(request), violations, "asked first, it is told the same");
  assert.deepEqual(shop.check({ parts: [{ part: "brace", quantity: 2 }] }), []);
  shop.free();
  assert.equal(ok, false);
  assert.deepEqual(violations.map(({ path }) => path).sort(), ["name", "parts[0].quantity", "parts[1].part", "parts[2].part", "step"]);
  const { code, told } = command(jobFile("alto"), ["--parts", "bracex0,nosuch,receiver", "--name", "a/b", "--step", "ap203"]);
  assert.equal(code, 2);
  for (const { why } of violations) assert.ok(told.includes(why), why);
});

test("what fails a check is told, and sent when that is said", () => {
  const shop = shopOf("alto_clash");
  const refused = shop.package("{}");
  assert.equal(refused.ok, false);
  assert.ok(refused.violations.every(({ path, why }) => path === "force" && why.includes("fails a check")));
  const packed = shop.package({ force: true });
  assert.ok(packed.ok && packed.list.files.some(({ part, findings }) => part === "badge" && findings.length > 0));
  assert.ok(shop.package({ parts: [{ part: "tenon" }] }).ok, "what does not fail goes out as it is");
  shop.free();
});

test("what can be sent is listed, and a flat part can be looked at", () => {
  const shop = shopOf("alto");
  const parts = shop.parts();
  const halves = parts.filter(({ onTheNeck }) => !onTheNeck).map(({ id }) => id);
  assert.deepEqual(halves, ["half_left", "half_right"]);
  for (const { id, flat, drawing, massG, fails, temper, temperFree, thicknessMm, thicknessFree } of parts) {
    assert.ok(massG > 0);
    assert.deepEqual([fails, thicknessFree, temperFree], [[], thicknessMm !== null, temper !== "as_sold"], id);
    const view = shop.flat(id);
    assert.equal(view !== undefined, flat, id);
    const drawn = shop.drawing(id, { drawing: { units: "both", projection: "third_angle" } });
    assert.equal(drawn !== undefined, drawing, id);
    if (drawn !== undefined) assert.ok(drawn.startsWith("<") && drawn !== shop.drawing(id), `the drawing of ${id} follows the request`);
    if (view !== undefined) assert.ok(view.svg.startsWith("<") && Array.isArray(view.findings));
  }
  // limits of a shop that can cut nothing finer than this
  const rough = shop.flat("key_arm", { cutting: { least_web_mm: 9 } });
  assert.ok(rough.findings.some(({ fails }) => fails));
  shop.free();
});

test("what is looked at is what is sent, in the stock, number and style that were asked for", () => {
  const shop = shopOf("alto");
  const request = {
    parts: [{ part: "saddle", quantity: 3, thickness_mm: 1.2, metal: "C75200", temper: "quarter_hard" }, { part: "key_arm" }, { part: "tenon", metal: "C36000" }, { part: "post_left" }],
    necks: 2,
    drawing: { units: "both", projection: "third_angle" },
    force: true,
  };
  const packed = shop.package(request);
  assert.ok(packed.ok, JSON.stringify(packed.violations));
  const files = new Map(entries(Buffer.from(packed.zip)));
  for (const part of ["saddle", "key_arm"]) assert.equal(shop.flat(part, request).svg, files.get(`flat/${part}.svg`).toString(), part);
  for (const part of ["tenon", "post_left"]) assert.equal(shop.drawing(part, request), files.get(`drawings/${part}.svg`).toString(), part);
  assert.match(shop.flat("saddle", request).svg, /6 off, nickel silver 65-18 \(C75200\), quarter hard \(H01\), 1\.2 mm thick/);
  assert.notDeepEqual(shop.flat("saddle", request).size_mm, shop.flat("saddle").size_mm, "another thickness is another outline");
  // where the stock cannot be had, the part is looked at as the job has it, and other faults do not matter
  assert.deepEqual(shop.flat("saddle", { parts: [{ part: "saddle", thickness_mm: 40 }] }).size_mm, shop.flat("saddle").size_mm);
  assert.match(shop.flat("saddle", { ...request, name: "a/b", parts: [{ part: "nosuch" }, ...request.parts] }).svg, /1\.2 mm thick/);
  shop.free();
});

test("bad input is no trap", () => {
  const shop = new Shop();
  assert.throws(() => shop.package({}), /no job has been built yet/);
  assert.equal(shop.setJob("{").ok, false);
  shop.free();
  const made = shopOf("alto");
  for (const request of ["", "[]", "{", "null", 7, { parts: [] }, { parts: 3 }, { necks: 1e9 }, { chord_mm: -1 }, { cutting: 7 }, { drawing: { units: 1 } }]) {
    const answer = made.package(request);
    assert.ok(!answer.ok && answer.violations.length > 0, JSON.stringify(request));
  }
  assert.ok(made.package().ok, "nothing said is the whole neck");
  made.free();
});

test("the schema explains every field of a request", () => {
  const schema = requestSchema();
  for (const [name, property] of Object.entries(schema.properties)) assert.match(property.description, /\.$/, name);
  assert.deepEqual(Object.keys(schema.properties).sort(), ["chord_mm", "cutting", "drawing", "force", "name", "necks", "parts", "step"]);
});
