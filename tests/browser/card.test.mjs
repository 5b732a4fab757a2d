// The job card from the page: what is asked, what comes of it, its papers as by command, the neck as made and its record.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { serve } from "../../web/scripts/serve.mjs";
import { tabTo } from "./hands.mjs";
import { judged } from "./judge.mjs";
import { pdfPaths } from "./pdf_paths.mjs";
import { DIST, download, noFaults, openPage, ROOT, startBrowser } from "./open_page.mjs";
import { scratchFolder } from "../scratch.mjs";

const NARROW = { width: 320, height: 640 };

const folder = scratchFolder();
let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const state = (page, wanted) => page.waitForFunction((name) => document.documentElement.dataset.jobCard === name, wanted);
const field = (page, path) => page.locator(`#job-card [data-path="${path}"]`);
const button = (page, name) => page.locator("#job-card").getByRole("button", { name, exact: true });
const cells = (page, caption) =>
  page.$$eval(
    "#job-card table",
    (tables, name) => [...(tables.find((table) => table.caption.textContent.startsWith(name))?.querySelectorAll("tbody tr") ?? [])].map((row) => [...row.children].map((cell) => cell.textContent)),
    caption,
  );
const number = (page, name) => page.$$eval("#job-card dt", (names, wanted) => names.find((one) => one.textContent === wanted)?.nextElementSibling.textContent, name);

async function faultAt(page, path) {
  await page.waitForFunction((name) => document.querySelector(`#job-card [data-path="${name}"]`)?.getAttribute("aria-invalid") === "true", path);
  const ids = (await field(page, path).getAttribute("aria-describedby")).split(" ");
  return page.textContent(`#${ids.at(-1)}`);
}

async function open(options = {}) {
  const opened = await openPage(chromium, options);
  await opened.page.click("text=Go on with this alto");
  await opened.page.getByRole("link", { name: "Job card", exact: true }).click();
  await state(opened.page, "told");
  return opened;
}

/** A change, and the answer to it. */
async function answered(page, change, wanted = "told") {
  await change();
  await state(page, "asked");
  await state(page, wanted);
}

async function gauge(page) {
  await answered(page, () => button(page, "Add a reading").click());
  await answered(page, () => button(page, "Add the next step of the gauges").click());
}

function command(options) {
  const ran = spawnSync("cargo", ["run", "--release", "--quiet", "--example", "job_card", "--", join(ROOT, "examples", "jobs", "alto.json"), folder, ...options], { cwd: ROOT, encoding: "utf8" });
  assert.equal(ran.status, 0, ran.stderr);
}

test("gauged and asked for, the papers are the command's byte for byte", async () => {
  const { page, faults, close } = await open();
  assert.match(await page.textContent("#job-card .caution"), /safety data sheet/);
  await gauge(page);
  // 0.965 in enters and 0.966 in does not: half way, 0.9655 in
  assert.match(await number(page, "Receiver, inch"), /^0\.9655 ±0\.000\d in$/);
  await answered(page, () => field(page, "gauge.fit").selectOption("H7/h6"));
  assert.deepEqual((await cells(page, "Fits")).filter(([name]) => name.includes("chosen")).map(([name]) => name), ["H7/h6 (chosen)"]);
  await answered(page, () => field(page, "load.down_n").fill("200"));
  const own = (await cells(page, "Down")).find(([name]) => name.includes("this neck"));
  assert.match(own[3], /^stays bent 0\.\d\d$/, "60 N keep a margin of 1.66 in soft metal, more than three times as many do not");
  const asked = await download(page, () => button(page, "Save what is asked").click());
  assert.deepEqual(JSON.parse(asked.bytes).load, { down_n: 200 });
  writeFileSync(join(folder, "asked.json"), asked.bytes);
  command(["--card", join(folder, "asked.json")]);
  for (const name of ["card.pdf", "measuring_sheet.pdf", "workings.pdf", "card.json"]) {
    const file = await download(page, () => page.click(`#job-card [data-file="${name}"]`));
    assert.ok(file.bytes.equals(readFileSync(join(folder, name))), name);
    assert.ok(file.name.endsWith(name), file.name);
  }
  // every step's cautions are there, and nothing puts them away
  const steps = JSON.parse(readFileSync(join(folder, "card.json"), "utf8")).steps;
  assert.equal(await page.locator("#card-order .caution:visible").count(), steps.flatMap(({ cautions }) => cautions).length);
  noFaults(faults);
  await close();
});

test("what is wrong is told at its field, nothing is lost, and no paper is made of it", async () => {
  const { page, faults, close } = await open();
  await answered(page, () => field(page, "load.down_n").fill("900"), "refused");
  assert.match(await faultAt(page, "load.down_n"), /0 to 500/);
  await answered(page, () => field(page, "heat.joints.seam.filler").selectOption("BAg-1"), "refused");
  assert.match(await faultAt(page, "heat.joints.seam.filler"), /cadmium/);
  assert.match(await faultAt(page, "load.down_n"), /0 to 500/, "all at once");
  assert.equal(await page.locator('#job-card [data-file="card.pdf"]').isDisabled(), true);
  assert.ok((await cells(page, "Down")).length > 5, "the numbers before stay");
  await answered(page, () => field(page, "load.down_n").fill("some"), "refused");
  await faultAt(page, "load.down_n");
  await answered(page, () => field(page, "load.down_n").fill("60"), "refused");
  await answered(page, () => field(page, "heat.confirm_cadmium").check());
  assert.ok((await page.$$eval("#card-heat .fault", (all) => all.map((one) => one.textContent))).some((text) => /cadmium/i.test(text)), "it is warned of all the same");
  // a later filler that flows as hot as an earlier one: the ladder is flagged
  await answered(page, () => field(page, "heat.joints.brace.filler").selectOption("BAg-5"));
  assert.ok((await page.locator("#card-heat .fault").count()) > 1);
  // one gauge that enters, a smaller one that does not
  await gauge(page);
  await answered(page, () => field(page, "gauge.readings[1].gauge_in").fill("0.960"));
  assert.match(await page.textContent("#card-tenon .fault"), /cannot all be true/);
  noFaults(faults);
  await close();
});

test("it is printed by the browser on three sheets of the paper's own size", async () => {
  const { page, faults, close } = await open();
  // a browser without hands has no printer: what it would print is asked for below
  await page.evaluate(() => {
    globalThis.print = () => {};
  });
  for (const [paper, width, height] of [["a4", 210, 297], ["letter", 215.9, 279.4]]) {
    await answered(page, () => field(page, "paper").selectOption(paper === "a4" ? "letter" : "a4"));
    await answered(page, () => field(page, "paper").selectOption(paper));
    await button(page, "Print the card").click();
    await page.waitForFunction(() => document.documentElement.dataset.prints === "card");
    assert.deepEqual(await page.$$eval("#card-sheets img", (all) => all.map(({ naturalWidth, alt }) => [naturalWidth > 700, /sheet \d of 3$/.test(alt)])), Array(3).fill([true, true]));
    const pages = pdfPaths(await page.pdf({ preferCSSPageSize: true }));
    assert.equal(pages.length, 3);
    for (const sheet of pages) assert.ok(Math.abs(sheet.width - width) < 0.3 && Math.abs(sheet.height - height) < 0.3, `${sheet.width} x ${sheet.height}`);
    await page.waitForFunction(() => document.documentElement.dataset.prints === undefined && document.querySelector("#card-sheets") === null);
  }
  noFaults(faults);
  await close();
});

test("what cannot be known is not known, and says why: readings, a datum, the end of a table", async () => {
  const { page, faults, close } = await open();
  await answered(page, () => field(page, "gauge.plugs_in").fill("0.960-0.966, 0.970"));
  await answered(page, () => button(page, "Add a reading").click());
  await answered(page, () => field(page, "gauge.readings[0].gauge_in").fill("0.966"));
  // the shop has no 0.967: the next it has is tried
  await answered(page, () => button(page, "Add the next step of the gauges").click());
  assert.equal(await field(page, "gauge.readings[1].gauge_in").inputValue(), "0.97");
  await answered(page, () => field(page, "gauge.readings[1].gauge_in").fill("0.960"));
  assert.match(await number(page, "Receiver"), /^not known: readings contradict each other/);
  assert.match(await number(page, "Finish the tenon to"), /^not known/);
  // of C27200 no yield with a source is at hand; of worked sterling silver neither
  const row = async (name) => (await cells(page, "Down")).find(([metal]) => metal.startsWith(name));
  const [, , , soft, worked, , temper] = await row("yellow brass 63/37");
  assert.deepEqual([soft, worked, temper], ["not known", "not known", "not known"]);
  assert.match((await row("sterling"))[4], /^not known$/);
  const why = await page.$$eval("#card-pull-down .says", (all) => all.map(({ textContent }) => textContent).join(" "));
  assert.match(why, /Not known: .*no yield of yellow brass 63\/37 with a source is at hand/);
  assert.match(why, /table of sterling silver ends at a reduction of 0 %/);
  // a list that is none is told at its field, and the numbers before it stay
  await answered(page, () => field(page, "gauge.plugs_in").fill("many"), "refused");
  assert.match(await faultAt(page, "gauge.plugs_in"), /list/);
  noFaults(faults);
  await close();
});

test("stress along the neck is drawn and said, metals stand with their sources, and each may be looked at in another temper", async () => {
  const { page, faults, close } = await open();
  const picture = page.locator("#card-pull-down .stress-along svg");
  assert.match(await picture.getAttribute("aria-label"), /pressed down, at most 87 MPa at station 14\d/);
  assert.equal(await picture.locator(".plot-line").count(), 2);
  assert.ok((await cells(page, "Stress along the neck")).length > 7);
  const own = async () => (await cells(page, "Down")).find(([name]) => name.includes("this neck"));
  const select = page.locator('#card-pull-down [data-key="temper-down-C26000"]');
  const before = (await own()).at(-1);
  await select.focus();
  await select.selectOption("half hard (H02)");
  const after = (await own()).at(-1);
  // 145 MPa soft, 345 half hard: the margins are as those (mill's data sheet and CDA)
  const margin = (text) => Number(/(\d+\.\d\d)$/.exec(text)[1]);
  assert.ok(Math.abs(margin(after) / margin(before) - 345 / 145) < 0.02, `${before}, ${after}`);
  assert.equal(await page.evaluate(() => document.activeElement.dataset.key ?? ""), "temper-down-C26000");
  // a figure with its range and its source
  const brass = await cells(page, "Cartridge brass, figures");
  assert.deepEqual(brass.find(([what]) => what === "Yield, half hard (H02)").slice(1, 2), ["347.5 \u00b12.5 MPa"]);
  assert.ok(brass.every(([, , source]) => source.length > 10));
  await page.reload();
  await state(page, "told");
  assert.equal(await select.inputValue(), "half hard (H02)");
  noFaults(faults);
  await close();
});

test("as made: differences, clearances checked again, and the record there and back", async () => {
  const { page, faults, close } = await open();
  await answered(page, () => button(page, "Add a measured value").click());
  await answered(page, () => field(page, "measured[0].path").selectOption("vent.station_mm"));
  await answered(page, () => field(page, "measured[0].measured").fill("66.2"));
  // the job's own tenon is 24.5 mm, its receiver 24.53: a hundredth is left of it
  await answered(page, () => field(page, "tenon_as_fitted_mm").fill("24.529"));
  await answered(page, () => field(page, "mass_g").fill("113.5"));
  await answered(page, () => field(page, "next_time").fill("Guide <b>nearer</b>."));
  const rows = await cells(page, "Measured beside");
  assert.deepEqual(rows.map(([name]) => name), ["Vent, station", "Tenon, outer diameter", "Mass"]);
  // a station is measured by a rule, to half a millimetre; a tenon by micrometer
  assert.equal(rows[0][3], "-0.3 to 0.7 mm");
  assert.match(rows[1][2], /^24\.529 ±0\.005 mm$/);
  assert.ok(Number.parseFloat(await number(page, "Clearances that fail, as made")) > Number.parseFloat(await number(page, "Clearances that fail, by the job")), "a tenon that came out tight fails its fit");
  const record = await download(page, () => button(page, "Save the record").click());
  writeFileSync(join(folder, "record.json"), record.bytes);
  // the command takes it in the place of the job, and writes the same record again
  const ran = spawnSync("cargo", ["run", "--release", "--quiet", "--example", "job_card", "--", join(folder, "record.json"), join(folder, "again")], { cwd: ROOT, encoding: "utf8" });
  assert.equal(ran.status, 0, ran.stderr);
  assert.ok(readFileSync(join(folder, "again", "record.json")).equals(record.bytes));
  // an angle is an angle, whatever lengths are shown in
  await page.check('input[name="unit"][value="in"]');
  await answered(page, () => field(page, "measured[0].path").selectOption("centreline.pieces[2].bend_deg"));
  assert.equal(await page.evaluate(() => document.activeElement.dataset.path), "measured[0].path");
  await answered(page, () => field(page, "measured[0].measured").fill("74.5"));
  const [angle] = await cells(page, "Measured beside");
  assert.deepEqual([angle[1], angle[2]], ["75 °", "74.5 ±0.5 °"]);
  await page.check('input[name="unit"][value="mm"]');
  // what can be no neck is said, and is no record of clearances
  await answered(page, () => field(page, "measured[0].path").selectOption("brace.to_station_mm"));
  await answered(page, () => field(page, "measured[0].measured").fill("30"));
  assert.match(await page.textContent(".made-found .fault"), /not checked again/);
  await close();
  noFaults(faults);

  const other = await open();
  assert.equal(await field(other.page, "mass_g").inputValue(), "");
  await other.page.locator('#job-card input[type="file"]').nth(1).setInputFiles(join(folder, "record.json"));
  await other.page.waitForFunction(() => document.querySelectorAll('#job-card [data-path^="measured["]').length === 2);
  await state(other.page, "told");
  assert.equal(await field(other.page, "mass_g").inputValue(), "113.5");
  assert.equal(await field(other.page, "next_time").inputValue(), "Guide <b>nearer</b>.");
  assert.ok((await download(other.page, () => button(other.page, "Save the record").click())).bytes.equals(record.bytes));
  // what is none is refused, and changes nothing
  await other.page.locator('#job-card input[type="file"]').nth(1).setInputFiles(join(ROOT, "examples", "jobs", "tenor.json"));
  await other.page.waitForFunction(() => document.querySelector(".made-room").textContent.includes("was not opened"));
  assert.equal(await field(other.page, "mass_g").inputValue(), "113.5");
  // the next visit begins where this one ended
  await other.page.reload();
  await state(other.page, "told");
  assert.equal(await field(other.page, "mass_g").inputValue(), "113.5");
  noFaults(other.faults);
  await other.close();
});

test("by keyboard alone: to the room, a reading, a fit, the card", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.click("text=Go on with this alto");
  await page.getByRole("link", { name: "Job card", exact: true }).focus();
  await page.keyboard.press("Enter");
  await state(page, "told");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Job card");
  const reach = (selector) => tabTo(page, selector, 80);
  await reach('[data-key="add-reading"]');
  await answered(page, () => page.keyboard.press("Enter"));
  assert.equal(await page.evaluate(() => document.activeElement.dataset.path), "gauge.readings[0].gauge_in", "the new reading is where the keys are");
  await page.keyboard.press("Control+A");
  await answered(page, () => page.keyboard.type("0.964"));
  await reach('[aria-label="Take away reading 1"]');
  await answered(page, () => page.keyboard.press("Enter"));
  assert.equal(await page.evaluate(() => document.activeElement.dataset.key), "add-reading");
  await reach('[data-file="card.pdf"]');
  const { bytes } = await download(page, () => page.keyboard.press("Enter"));
  assert.equal(bytes.subarray(0, 5).toString(), "%PDF-");
  noFaults(faults);
  await close();
});

for (const [name, options] of [
  ["desk", {}],
  ["desk, dark", { colorScheme: "dark" }],
  ["320 px, touch", { viewport: NARROW, hasTouch: true, isMobile: true }],
  ["320 px, dark", { viewport: NARROW, colorScheme: "dark" }],
]) {
  test(`readable for everyone: ${name}`, async () => {
    const { page, faults, close } = await open(options);
    await gauge(page);
    await answered(page, () => button(page, "Add a measured value").click());
    await answered(page, () => field(page, "load.down_n").fill("900"), "refused");
    assert.deepEqual(await judged(page), []);
    await answered(page, () => field(page, "load.down_n").fill("60"));
    assert.deepEqual(await judged(page), []);
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "nothing hangs over the edge");
    if (options.hasTouch) {
      const small = await page.$$eval("#job-card :is(button, select, summary, input:not([type=checkbox]):not([type=file]))", (all) => all.filter((one) => one.getClientRects().length > 0 && one.getBoundingClientRect().height < 44).map((one) => one.outerHTML.slice(0, 80)));
      assert.deepEqual(small, []);
    }
    noFaults(faults);
    await close();
  });
}

test("without a network the room works, though nobody was ever in it; in inches, lengths are inches", async () => {
  const host = mkdtempSync(join(tmpdir(), "neckwright-host-"));
  cpSync(DIST, host, { recursive: true });
  const server = await serve({ "/": host }, 0);
  const { page, faults, close } = await openPage({ browser: chromium.browser, server, url: `${server.url}/` });
  await page.click("text=Go on with this alto");
  await page.waitForFunction(() => document.querySelector(".step-offline").textContent.includes("works without a network"));
  await server.close();
  await page.getByRole("link", { name: "Job card", exact: true }).click();
  await state(page, "told");
  await page.check('input[name="unit"][value="in"]');
  await page.waitForFunction(() => [...document.querySelectorAll("#job-card dt")].some((one) => one.textContent === "Finish the tenon to" && one.nextElementSibling.textContent.endsWith(" in")));
  noFaults(faults);
  await close();
  rmSync(host, { recursive: true, force: true });
});
