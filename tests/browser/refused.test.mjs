// A value that is refused changes nothing but its field and the message beside it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { stationOf } from "./hands.mjs";
import { download, noFaults, openCard, openPage, rows, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const field = (page, path) => page.locator(`#card [data-path="${path}"]`);
const back = (page) => page.getByRole("button", { name: "Take back", exact: true });
const said = (page) => page.textContent(".step-said");

/** All that is told of the neck beside its fields and their message. */
const told = (page) =>
  page.evaluate(() => ["#placing", "#list", "#list-verdict", "#findings", "#key", "#job-line", ".step-said", "#tray"].map((where) => document.querySelector(where).textContent.replace(/Kept in.*/, "")));

/** The saddle of the alto may be anywhere in the range of its field, but on this neck not at 190. */
test("a refused value changes nothing but its field: no line, no step, no file", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "saddle");
  await page.waitForFunction(() => /It clears its neighbours from/.test(document.querySelector("#placing").textContent));
  await field(page, "saddle.station_mm").fill("101");
  await field(page, "saddle.station_mm").press("Tab");
  await settled(page);
  await page.waitForFunction(() => /It clears its neighbours from/.test(document.querySelector("#placing").textContent));
  assert.equal(await stationOf(page), 101);
  const was = { told: await told(page), rows: await rows(page), view: await page.locator("#canvas").boundingBox() };

  await field(page, "saddle.station_mm").fill("190");
  await settled(page);
  await page.waitForSelector('#card [data-path="saddle.station_mm"][aria-invalid="true"]');
  await field(page, "saddle.station_mm").press("Tab");
  await page.waitForTimeout(200);
  assert.equal(await field(page, "saddle.station_mm").inputValue(), "190", "it stays in its field, to be mended");
  assert.deepEqual({ told: await told(page), rows: await rows(page), view: await page.locator("#canvas").boundingBox() }, was);
  assert.equal(await said(page), "Saddle and hinge stand at 101.0 mm, was 102.0", "it is no change");
  const { bytes } = await download(page, () => page.click("text=Save the job"));
  assert.equal(JSON.parse(bytes.toString("utf8")).saddle.station_mm, 101);

  // what is taken back first is what stands in the field, and then the change before it
  await back(page).click();
  await settled(page);
  assert.equal(await field(page, "saddle.station_mm").inputValue(), "101");
  assert.equal(await field(page, "saddle.station_mm").getAttribute("aria-invalid"), null);
  await back(page).click();
  await settled(page);
  assert.equal(await field(page, "saddle.station_mm").inputValue(), "102");
  assert.equal(await back(page).getAttribute("aria-disabled"), "true", "nothing else was kept as a step");
  noFaults(faults);
  await close();
});

test("what was to be done again is still there after a refused value", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await field(page, "brace.width_mm").fill("5.5");
  await field(page, "brace.width_mm").press("Tab");
  await settled(page);
  await back(page).click();
  await settled(page);
  // left at once, before the core has answered
  await page.evaluate(() => {
    const input = document.querySelector('#card [data-path="brace.from_station_mm"]');
    input.focus();
    input.value = "190";
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.blur();
  });
  await settled(page);
  await back(page).click();
  await settled(page);
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "72");
  await page.getByRole("button", { name: "Do again", exact: true }).click();
  await settled(page);
  assert.equal(await field(page, "brace.width_mm").inputValue(), "5.5");
  noFaults(faults);
  await close();
});

test("two values that are right only together are taken together, as one change", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await field(page, "brace.from_station_mm").fill("150");
  await field(page, "brace.from_station_mm").press("Tab");
  await settled(page);
  assert.match(await page.textContent("#faults"), /The brace must end behind its beginning/);
  assert.match(await page.textContent("#field-brace-from_station_mm-fault"), /^Brace ends at: Allowed: at least 155 mm/, "said beside what was typed");
  assert.equal(await field(page, "brace.to_station_mm").getAttribute("aria-invalid"), null);
  await field(page, "brace.from_station_mm").fill("90");
  await field(page, "brace.to_station_mm").fill("80");
  await settled(page);
  assert.equal(await said(page), "Brace begins at 90.0 mm, was 72.0", "the first of the two was right by itself");
  await field(page, "brace.from_station_mm").fill("60");
  await field(page, "brace.from_station_mm").press("Tab");
  await settled(page);
  assert.equal(await page.isVisible("#faults"), false);
  assert.match(await said(page), /^Brace begins at 60\.0 mm, was 90\.0; 1 more change$/);
  noFaults(faults);
  await close();
});

test("a refused value is in its field again after a reload, and in nothing else", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await field(page, "brace.width_mm").fill("5.5");
  await field(page, "brace.width_mm").press("Tab");
  await settled(page);
  await field(page, "brace.from_station_mm").fill("190");
  await field(page, "brace.from_station_mm").press("Tab");
  await settled(page);
  await page.waitForFunction(() => document.documentElement.dataset.kept === "all");
  await page.reload();
  await settled(page);
  await page.waitForSelector("#faults:not([hidden])");
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "190");
  assert.match(await page.textContent("#placing"), /Brace: 72\.00 to 148\.00 mm/);
  assert.equal(await said(page), "Brace is wide 5.5 mm, was 6.0");
  noFaults(faults);
  await close();
});

test("a part is moved while a refused value stands in a field, which is let go of", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await field(page, "brace.from_station_mm").fill("190");
  await settled(page);
  await page.getByRole("button", { name: "Pick it up" }).click();
  await page.keyboard.press("ArrowRight");
  await page.waitForFunction(() => /72\.10 to/.test(document.querySelector("#placing").textContent));
  await page.keyboard.press("Enter");
  await settled(page);
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "72.1");
  assert.equal(await page.isVisible("#faults"), false);
  noFaults(faults);
  await close();
});
