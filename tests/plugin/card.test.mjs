// The module of the job card as a stranger would use it from Node, held against the command: the same files, byte for byte.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, test } from "node:test";
import { pathToFileURL } from "node:url";
import { PKG, ROOT } from "../../web/scripts/paths.mjs";
import { scratchFolder } from "../scratch.mjs";

const { initSync, Cards, cardSchema, keptRecord, madeSchema, usualCard } = await import(pathToFileURL(join(PKG, "neckwright_card.js")));
initSync({ module: readFileSync(join(PKG, "neckwright_card_bg.wasm")) });

const text = (folder, name) => readFileSync(join(ROOT, "examples", folder, `${name}.json`), "utf8");
const CARD = text("cards", "gauged");
const MADE = text("cards", "made");

const folder = scratchFolder();

function cards(job) {
  const cards = new Cards();
  assert.equal(cards.setJob(text("jobs", job)).ok, true);
  return cards;
}

describe("wasm and command write the same bytes", () => {
  for (const job of ["alto", "tenor"]) {
    test(job, () => {
      const file = (kind, name) => join(ROOT, "examples", kind, `${name}.json`);
      const ran = spawnSync("cargo", ["run", "--release", "--quiet", "--example", "job_card", "--", file("jobs", job), folder, "--card", file("cards", "gauged"), "--made", file("cards", "made")], { cwd: ROOT, encoding: "utf8" });
      assert.equal(ran.status, 0, ran.stderr);
      const made = cards(job);
      for (const name of ["card.json", "card.pdf", "measuring_sheet.pdf", "workings.pdf"]) {
        assert.ok(Buffer.from(made.file(name, CARD)).equals(readFileSync(join(folder, name))), `${name} of ${job}`);
      }
      const record = made.record(CARD, MADE);
      assert.equal(record.ok, true);
      assert.equal(record.text, readFileSync(join(folder, "record.json"), "utf8"));
      assert.deepEqual(made.card(CARD).card, JSON.parse(readFileSync(join(folder, "card.json"), "utf8")));
    });
  }
});

test("what is wrong is told all at once, and nothing is changed", () => {
  const made = cards("alto");
  const refused = made.card({ load: { down_n: 900 }, heat: { joints: { seam: { filler: "BAg-1", heat: 1 } }, wire_mm: "thin" }, colour: 1 });
  assert.equal(refused.ok, false);
  const wrong = refused.violations.filter(({ severity }) => severity === "error").map(({ path }) => path);
  assert.deepEqual(wrong.sort(), ["colour", "heat.joints.seam.filler", "heat.wire_mm", "load.down_n"]);
  assert.equal(made.setJob("{").ok, false);
  assert.equal(made.card({}).ok, true, "the neck before stands");
  const both = made.record({ load: 1 }, { mass_g: "heavy" });
  assert.deepEqual(both.violations.map(({ path }) => path).sort(), ["load", "mass_g"]);
  assert.throws(() => made.file("card.json", { load: { down_n: 900 } }), /load\.down_n/);
  assert.throws(() => made.file("else.txt", {}), /card\.json/);
  assert.throws(() => new Cards().card({}), /no job/);
});

test("a record goes round trip, and other texts are none", () => {
  const record = cards("alto").record(CARD, MADE);
  const kept = keptRecord(record.text);
  const again = new Cards();
  assert.equal(again.setJob(kept.job).ok, true);
  assert.equal(again.record(kept.card, kept.made).text, record.text);
  assert.equal(keptRecord("{}"), undefined);
  assert.equal(keptRecord("no JSON"), undefined);
});

test("schemas and starting values go together", () => {
  const made = cards("alto");
  const usual = usualCard();
  assert.deepEqual(Object.keys(cardSchema().properties).sort(), Object.keys(usual).sort());
  assert.deepEqual(made.card(usual), made.card({}));
  assert.ok("tenon_as_fitted_mm" in madeSchema().properties);
});
