// Variants of a job: kept under a name, side by side with what differs, laid on the bench, removed and brought back.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { Neck, initSync } from "../../web/pkg/neckwright.js";
import { PKG } from "../../web/scripts/paths.mjs";
import { enter, noFaults, openCard, openPage, ROOT, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
  initSync({ module: readFileSync(join(PKG, "neckwright_bg.wasm")) });
});
after(() => chromium.close());

const job = (name) => JSON.parse(readFileSync(join(ROOT, "examples", "jobs", `${name}.json`), "utf8"));
const field = (page, path) => page.locator(`#card [data-path="${path}"]`);
async function keep(page, name) {
  await page.fill("#variant-name", name);
  await page.keyboard.press("Enter");
  await page.locator(".variant-list strong", { hasText: name }).waitFor();
}
const names = (page) => page.locator(".variant-list:first-of-type strong").allTextContents();
async function compare(page, one, other) {
  await page.selectOption('[aria-label="One"]', { label: one });
  await page.selectOption('[aria-label="The other"]', { label: other });
  await page.getByRole("button", { name: "Compare" }).click();
  await page.waitForFunction(() => document.querySelector(".compare-choice .progress").textContent === "Both measured.");
}
const tableOf = (page, title) =>
  page.locator(".compared-part", { has: page.locator("h3", { hasText: title }) }).locator("tr").evaluateAll((lines) => lines.map((line) => [...line.children].map((cell) => cell.textContent)));

/** The whole of a job's masses and list from the package itself, under Node. */
function weighed(changed) {
  const neck = new Neck();
  assert.ok(neck.setJob(changed).ok);
  const result = { masses: new Map(neck.summary().parts.map(({ id, mass_g }) => [id, mass_g])), made: neck.parts().filter(({ keepout }) => !keepout).map(({ id }) => id), list: neck.clearances() };
  neck.free();
  return result;
}

/** The page with the alto and a thicker, shorter brace kept under names. */
async function openTwo(options) {
  const opened = await openPage(chromium, options);
  const { page } = opened;
  await page.getByRole("button", { name: "Variants" }).click();
  assert.equal(await page.evaluate(() => document.activeElement.id), "variants-title");
  await keep(page, "as shipped");
  await openCard(page, "brace");
  await enter(page, "brace.to_station_mm", "140");
  await enter(page, "brace.thickness_mm", "1.5");
  await keep(page, "short and thick");
  return opened;
}

test("two variants side by side: parameters, rows that differ, mass of each part and of the whole", async () => {
  const { page, faults, close } = await openTwo();
  await compare(page, "as shipped", "short and thick");
  assert.deepEqual(await tableOf(page, "Parameters"), [
    ["Parameter", "as shipped", "short and thick"],
    ["Brace ends at", "148.0 mm", "140.0 mm"],
    ["Brace is thick", "1.0 mm", "1.5 mm"],
  ]);
  const shipped = job("alto");
  const [one, other] = [weighed(shipped), weighed({ ...shipped, brace: { ...shipped.brace, to_station_mm: 140, thickness_mm: 1.5 } })];
  const [head, ...lines] = await tableOf(page, "Mass");
  assert.deepEqual(head, ["Part", "as shipped", "short and thick", "Change"]);
  const brace = lines.find(([name]) => name === "Brace");
  assert.deepEqual(brace.slice(1, 3), [`${one.masses.get("brace").toFixed(2)} g`, `${other.masses.get("brace").toFixed(2)} g`]);
  assert.equal(lines.find(([name]) => name === "Tenon")[3], "the same");
  const whole = ({ masses, made }) => made.reduce((sum, id) => sum + masses.get(id), 0);
  assert.deepEqual(lines.at(-1).slice(0, 3), ["Whole neck", `${whole(one).toFixed(2)} g`, `${whole(other).toFixed(2)} g`]);

  // every row that differs by more than is read, and none that does not
  const rows = (await tableOf(page, "Clearances")).slice(1);
  const pin = ({ list }) => list.pairs.find(({ a, b }) => `${a} ${b}` === "brace octave_pin");
  const told = rows.find(([name]) => name === "brace to octave pin");
  assert.equal(told[1], `${pin(one).gap_mm.toFixed(2)} mm, clear`);
  assert.ok(pin(other).at_least !== true || told[2] === `> ${pin(other).gap_mm.toFixed(2)} mm, clear`, told[2]);
  assert.ok(rows.every(([name]) => name.includes("brace")), "only the brace was changed");
  noFaults(faults);
  await close();
});

test("a row that is not within its limits in one of the two comes first", async () => {
  const { page, faults, close } = await openTwo();
  await page.setInputFiles('input[type="file"]', join(ROOT, "examples", "jobs", "alto_clash.json"));
  await settled(page);
  await compare(page, "as shipped", "the job as it stands");
  const rows = (await tableOf(page, "Clearances")).slice(1);
  assert.equal(rows[0][1], "not there", "the badge is only in one");
  const clash = rows.find(([name]) => name === "saddle to badge");
  assert.match(clash[2], /overlap$/);
  const parameters = await tableOf(page, "Parameters");
  assert.ok(parameters.some((line) => line.join("|") === "Badge|none|there is one"), JSON.stringify(parameters));
  noFaults(faults);
  await close();
});

test("a variant is laid on the bench as one change, and the neck follows it", async () => {
  const { page, faults, close } = await openTwo();
  await page.getByRole("button", { name: "Lay it on the bench: as shipped" }).click();
  await settled(page);
  assert.equal(await field(page, "brace.to_station_mm").inputValue(), "148");
  assert.equal(await page.textContent("#step-said"), "Variant “as shipped” was laid on the bench");
  await page.getByRole("button", { name: "Take back" }).click();
  await settled(page);
  assert.equal(await field(page, "brace.to_station_mm").inputValue(), "140");
  noFaults(faults);
  await close();
});

test("variants stay in the browser; a removed one is brought back, after a reload too", async () => {
  const { page, faults, close } = await openTwo();
  await page.getByRole("button", { name: "Remove: as shipped" }).click();
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Bring it back", "the focus is on the way back");
  assert.deepEqual(await names(page), ["short and thick"]);
  await page.reload();
  await settled(page);
  await page.getByRole("button", { name: "Variants" }).click();
  assert.match(await page.textContent("#variants"), /“as shipped” was removed\./);
  await page.getByRole("button", { name: "Bring it back: as shipped" }).click();
  assert.deepEqual(await names(page), ["as shipped", "short and thick"]);
  await page.getByRole("button", { name: "Remove: short and thick" }).click();
  await page.getByRole("button", { name: "Let it go: short and thick" }).click();
  await page.reload();
  await settled(page);
  await page.getByRole("button", { name: "Variants" }).click();
  assert.deepEqual(await names(page), ["as shipped"]);

  // what one tab keeps the other sees, and neither takes the other's away
  const other = await page.context().newPage();
  await other.goto(chromium.url);
  await settled(other);
  await other.getByRole("button", { name: "Variants" }).click();
  await keep(other, "from the other tab");
  await page.bringToFront();
  await page.evaluate(() => dispatchEvent(new Event("focus")));
  await page.locator(".variant-list strong", { hasText: "from the other tab" }).waitFor();
  assert.deepEqual(await names(page), ["as shipped", "from the other tab"]);
  noFaults(faults);
  await close();
});

test("each variant is a job file of its own", async () => {
  const { page, faults, close } = await openTwo();
  const files = [];
  page.on("download", (file) => files.push(file));
  await page.click("text=Save all as files");
  while (files.length < 2) await page.waitForTimeout(50);
  const read = async (file) => {
    const chunks = [];
    for await (const chunk of await file.createReadStream()) chunks.push(chunk);
    return JSON.parse(Buffer.concat(chunks));
  };
  assert.deepEqual(files.map((file) => file.suggestedFilename()), ["DEMO-001-as-shipped.json", "DEMO-001-short-and-thick.json"]);
  assert.deepEqual(await read(files[0]), job("alto"));
  assert.equal((await read(files[1])).brace.thickness_mm, 1.5);
  noFaults(faults);
  await close();
});

test("the measuring shows how far it is and is stopped, and the bench goes on meanwhile", async () => {
  // a core that takes its time: what stands in the way is the network, which the second core comes over
  const { page, faults, close } = await openTwo({ serviceWorkers: "block" });
  await page.context().route("**/*.wasm", async (route) => {
    await new Promise((resolve) => setTimeout(resolve, 10_000));
    await route.continue().catch(() => undefined);
  });
  const session = await page.context().newCDPSession(page);
  await session.send("Network.setCacheDisabled", { cacheDisabled: true });
  await page.selectOption('[aria-label="One"]', { label: "as shipped" });
  await page.selectOption('[aria-label="The other"]', { label: "short and thick" });
  await page.getByRole("button", { name: "Compare" }).click();
  const progress = () => page.textContent(".compare-choice .progress");
  assert.match(await progress(), /^Measuring, [01] of 2 done …$/);
  await enter(page, "brace.thickness_mm", "1.4");
  await page.getByRole("button", { name: "Stop", exact: true }).click();
  assert.match(await progress(), /^Stopped, [01] of 2 measured\.$/);
  assert.equal((await tableOf(page, "Parameters")).length, 3, "what differs between the parameters is there all the same");
  await page.waitForTimeout(10_500);
  assert.match(await progress(), /^Stopped/, "nothing more is heard of it");
  noFaults(faults);
  await close();
});

test("a variant that cannot be built says why", async () => {
  const { page, faults, close } = await openTwo();
  // what is refused in a field is in no variant; a file may hold it all the same
  const impossible = job("alto");
  impossible.brace.to_station_mm = 400;
  await page.setInputFiles('input[type="file"]', { name: "impossible.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(impossible)) });
  await page.waitForSelector('[data-fault^="brace."]');
  await keep(page, "impossible");
  await compare(page, "as shipped", "impossible");
  assert.match(await page.textContent(".compared .fault"), /^impossible cannot be built: brace\./);
  noFaults(faults);
  await close();
});
