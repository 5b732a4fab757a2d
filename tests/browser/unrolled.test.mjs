// The tube laid flat: to scale on the screen, its parts placed by mouse, by touch and by keyboard; at its own size on paper.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { finger, placed, rests, stationOf } from "./hands.mjs";
import { noFaults, openPage, PHONE, ROOT, settled, startBrowser } from "./open_page.mjs";
import { boxOf, pdfPaths } from "./pdf_paths.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const job = (name) => JSON.parse(readFileSync(join(ROOT, "examples", "jobs", `${name}.json`), "utf8"));
const ALL_CLEAR = /^All \d+ pairs are within their limits/;
const verdict = (page) => page.textContent("#list-verdict");
const field = (page, path) => page.locator(`#card [data-path="${path}"]`).inputValue();

/** Radius of the tube's outside, by the cone's own formula. */
const outside = ({ bore, tube }, stationMm) => bore.entry_diameter_mm / 2 + stationMm * Math.tan((bore.half_angle_deg * Math.PI) / 180) + tube.wall_mm;

/** Station at which the tube goes into the collar, by the lengths of the centreline's pieces. */
const collarOf = ({ centreline, tenon }) =>
  centreline.pieces.reduce((sum, { straight_mm, bend_deg, radius_mm }) => sum + (straight_mm ?? (Math.abs(bend_deg) * Math.PI * radius_mm) / 180), 0) - tenon.length_mm - tenon.collar_length_mm;

/**
 * Length along the centreline that a round vent takes up on the top of the first bend: its edge stands r off its axis at the
 * height of the tube's outside, and is told by the angle it is seen at from the middle of the bend.
 */
function alongTop(neck, { station_mm, outer_diameter_mm }) {
  const bend = neck.centreline.pieces[1].radius_mm;
  return 2 * bend * Math.atan(outer_diameter_mm / 2 / (bend + outside(neck, station_mm)));
}

async function openFlat(name, options) {
  const opened = await openPage(chromium, options);
  const { page } = opened;
  await page.setInputFiles('input[type="file"]', join(ROOT, "examples", "jobs", `${name}.json`));
  await page.waitForFunction((number) => document.querySelector("#job-line").textContent.includes(number), job(name).order.number);
  await settled(page);
  await page.getByLabel("Laid flat", { exact: true }).check();
  const part = (id) => page.locator(`.flat-part[data-part="${id}"] .flat-foot`);
  /** CSS pixels of a millimetre of the sheet. */
  const pxPerMm = () => page.$eval(".flat-sheet", (sheet) => sheet.getScreenCTM().a);
  const middle = async (id) => {
    await part(id).scrollIntoViewIfNeeded();
    const box = await part(id).boundingBox();
    return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  };
  return { ...opened, part, pxPerMm, middle };
}

test("feet lie to scale where the job has them", async () => {
  const alto = job("alto");
  const { page, faults, close, part } = await openFlat("alto");
  const boxOfPath = (path) => path.evaluate((element) => ({ ...["x", "y", "width", "height"].reduce((box, side) => ({ ...box, [side]: element.getBBox()[side] }), {}) }));
  const tube = await boxOfPath(page.locator(".flat-tube"));
  const { station_mm: station, length_mm: length, half_wrap_deg: wrap } = alto.saddle;
  const saddle = await boxOfPath(part("saddle"));
  const near = (drawn, mm, what) => assert.ok(Math.abs(drawn - mm) < 0.02, `${what}: ${drawn} for ${mm}`);
  // a millimetre is as long along the sheet as across it
  const grid = await page.$eval(".flat-sheet", (element) => element.getScreenCTM());
  assert.equal(grid.a, grid.d);
  near(saddle.x - tube.x, station - length / 2, "the saddle begins");
  near(saddle.width, length, "and is as long");
  near(saddle.height, (2 * wrap * Math.PI * outside(alto, station + length / 2)) / 180, "and as wide as its wrap");
  near(tube.width, collarOf(alto), "the sheet ends at the collar");
  near(tube.height, 2 * Math.PI * outside(alto, collarOf(alto)), "and is there as wide as the tube is round");
  const vent = await boxOfPath(part("vent"));
  near(vent.width, alongTop(alto, alto.vent), "the vent, told along the centreline");
  assert.match(await page.textContent(".flat-words"), /brace: 72\.00 to 148\.00 mm.*saddle with posts and key: 102\.00 mm.*octave vent with its pad: 66\.00 mm/s);
  noFaults(faults);
  await close();
});

test("a part is dragged on the sheet by as much as the mouse goes, along and round", async () => {
  const clash = job("alto_clash");
  const { page, faults, close, pxPerMm, middle } = await openFlat("alto_clash");
  assert.ok((await page.locator('.flat-part[data-part="badge"].fails').count()) === 1);
  assert.ok((await page.locator(".flat-name").allTextContents()).includes("▼ badge"));
  const [scale, at] = [await pxPerMm(), await middle("badge")];
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  await page.mouse.move(at.x + 10, at.y - 5, { steps: 3 });
  await page.mouse.move(at.x + 14 * scale, at.y - 3 * scale, { steps: 6 });
  await rests(page);
  assert.ok(Math.abs((await stationOf(page)) - clash.badge.station_mm - 14) <= 0.11, await placed(page));
  assert.match(await verdict(page), ALL_CLEAR, "the list follows");
  assert.equal(await page.locator('.flat-part[data-part="badge"].fails').count(), 0);
  await page.mouse.up();
  await settled(page);
  const azimuth = clash.badge.azimuth_deg + (3 / outside(clash, clash.badge.station_mm + 14)) * (180 / Math.PI);
  assert.ok(Math.abs(Number(await field(page, "badge.azimuth_deg")) - azimuth) < 0.2, `${await field(page, "badge.azimuth_deg")} for ${azimuth}`);

  // what stays under the bend goes along only
  // half of it lies along each edge of the sheet
  const brace = await page.$eval(".flat-sheet", (sheet, [x, y]) => (({ x, y }) => ({ x, y }))(new DOMPoint(x, y).matrixTransform(sheet.getScreenCTM())), [110, 1.5 - Math.PI * outside(clash, 110)]);
  await page.mouse.move(brace.x, brace.y);
  await page.mouse.down();
  await page.mouse.move(brace.x - 12, brace.y + 30, { steps: 3 });
  await page.mouse.move(brace.x - 5 * scale, brace.y + 40, { steps: 3 });
  await rests(page);
  assert.match(await placed(page), /^Brace: (66\.9|67\.0|67\.1)0 to 14[23]\.\d0 mm/);
  await page.keyboard.press("Escape");
  await page.mouse.up();
  await settled(page);
  assert.match(await placed(page), /^Brace: 72\.00 to 148\.00 mm/);
  noFaults(faults);
  await close();
});

test("a part is picked up on the sheet by keyboard, and by a finger at phone size", async () => {
  const clash = job("alto_clash");
  const { page, faults, close, pxPerMm, middle } = await openFlat("alto_clash", { viewport: PHONE, hasTouch: true, isMobile: true });
  await page.locator('.flat-part[data-part="badge"]').focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press("PageUp");
  await page.keyboard.press("ArrowRight");
  await rests(page);
  const label = await page.getAttribute('.flat-part[data-part="badge"]', "aria-label");
  assert.match(label, new RegExp(`^badge: ${(clash.badge.station_mm + 1.1).toFixed(2)} mm, `));
  await page.keyboard.press("Escape");
  await settled(page);

  const sheet = page.locator(".flat-sheet");
  await sheet.evaluate((element) => element.scrollIntoView({ block: "end" }));
  const [scale, at] = [await pxPerMm(), await middle("badge")];
  const touch = await finger(page);
  await touch.down(at.x, at.y);
  for (let step = 1; step <= 10; step += 1) {
    await touch.move(at.x + (step * 14 * scale) / 10, at.y);
    await page.waitForTimeout(40);
  }
  await rests(page);
  assert.match(await verdict(page), ALL_CLEAR, await placed(page));
  await touch.up();
  await settled(page);
  assert.ok(Math.abs(Number(await field(page, "badge.station_mm")) - clash.badge.station_mm - 14) < 0.6);
  assert.ok((await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
  noFaults(faults);
  await close();
});

const pdfOf = async (page) => pdfPaths(await page.pdf({ preferCSSPageSize: true }));
const near = (a, b, by) => Math.abs(a - b) <= by;

/** The bar to measure the printer by: a stroke along the page of one height. */
const bars = ({ paths }) => paths.map(boxOf).filter(({ left, right, top, bottom }) => near(right - left, 100, 2) && near(top, bottom, 0.05));

test("it prints at its own size on A4: the bar is 100 mm and every foot stands at its station", async () => {
  const alto = job("alto");
  const { page, faults, close } = await openFlat("alto");
  const pages = await pdfOf(page);
  assert.equal(pages.length, 1, "an alto fits on one page");
  const [{ width, height, paths }] = pages;
  assert.ok(near(width, 297, 0.3) && near(height, 210, 0.3), `${width} x ${height}`);
  const [bar] = bars(pages[0]);
  assert.ok(near(bar.right - bar.left, 100, 0.2), `the bar is ${bar.right - bar.left} mm`);

  const boxes = paths.filter(({ painted }) => painted).map(boxOf);
  const sheet = boxes.find(({ left, right, top, bottom }) => near(right - left, collarOf(alto), 0.2) && near(bottom - top, 2 * Math.PI * outside(alto, collarOf(alto)), 0.2));
  assert.ok(sheet, "the sheet is as long as the tube to its collar and as wide as it is round there");
  /** A foot by its first and last station and its width. */
  const foot = (from, to, wide) => boxes.find(({ left, right, top, bottom }) => near(left - sheet.left, from, 0.2) && near(right - sheet.left, to, 0.2) && near(bottom - top, wide, 0.2));
  const { saddle, guide, vent, brace } = alto;
  const wrapped = ({ station_mm: s, length_mm: l, half_wrap_deg: w }) => [s - l / 2, s + l / 2, (2 * w * Math.PI * outside(alto, s + l / 2)) / 180];
  assert.ok(foot(...wrapped(saddle)), "the saddle");
  assert.ok(foot(...wrapped(guide)), "the guide");
  const [r, R, half] = [vent.outer_diameter_mm / 2, outside(alto, vent.station_mm), alongTop(alto, vent) / 2];
  assert.ok(foot(vent.station_mm - half, vent.station_mm + half, 2 * R * Math.asin(r / R)), "the vent's hole");
  const halves = boxes.filter(({ left, right }) => near(left - sheet.left, brace.from_station_mm, 0.2) && near(right - sheet.left, brace.to_station_mm, 0.2));
  assert.ok(halves.length >= 2, "the brace lies on both edges, under the tube");
  noFaults(faults);
  await close();
});

test("a tube longer than the paper is printed on pages with crosses to join, on Letter too", async () => {
  const tenor = job("tenor");
  const { page, faults, close } = await openFlat("tenor");
  await page.getByLabel("Paper", { exact: true }).selectOption("letter");
  const pages = await pdfOf(page);
  for (const sheet of pages) {
    assert.ok(near(sheet.width, 279.4, 0.3) && near(sheet.height, 215.9, 0.3), `${sheet.width} x ${sheet.height}`);
    const [bar] = bars(sheet);
    assert.ok(near(bar.right - bar.left, 100, 0.2));
  }
  const room = 279.4 - 20;
  const wanted = collarOf(tenor) + 12;
  assert.equal(pages.length, wanted <= room ? 1 : 2, `${wanted} mm of drawing on ${room} mm of page`);
  noFaults(faults);
  await close();

  // the largest job is longer than any page: its two pages have the same crosses, as far apart
  const largest = await openFlat("largest");
  const two = await pdfOf(largest.page);
  assert.ok(two.length >= 2, `${two.length} pages`);
  const crosses = ({ paths }) => paths.map(boxOf).filter(({ left, right, top, bottom }) => near(right - left, 6, 0.05) && near(bottom - top, 6, 0.05));
  const [one, other] = [crosses(two[0]), crosses(two[1])];
  const heights = (list) => [...new Set(list.map(({ top }) => top.toFixed(1)))].sort();
  assert.ok(one.length >= 3 && other.length >= 3, "crosses on both");
  assert.deepEqual(heights(one), heights(other));
  // at the right edge of one and at the left edge of the other, where the pages overlap
  const [right, left] = [Math.max(...one.map((box) => (box.left + box.right) / 2)), Math.min(...other.map((box) => (box.left + box.right) / 2))];
  assert.ok(right > two[0].width - 20 && left < 20, `${right} and ${left}`);
  noFaults(largest.faults);
  await largest.close();
});
