// The room of the bores, as a maker goes through it: by mouse, by keyboard, on a phone, with what is wrong.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { after, before, test } from "node:test";
import { PKG } from "../../web/scripts/paths.mjs";
import { finger, tabTo } from "./hands.mjs";
import { judged } from "./judge.mjs";
import { download, noFaults, openPage, ROOT, startBrowser } from "./open_page.mjs";

const example = (folder, name) => readFileSync(join(ROOT, "examples", folder, `${name}.json`), "utf8");

const { initSync, Bores, usualLimits } = await import(pathToFileURL(join(PKG, "neckwright_bore.js")));

let chromium;
before(async () => {
  chromium = await startBrowser();
  initSync({ module: readFileSync(join(PKG, "neckwright_bore_bg.wasm")) });
});
after(() => chromium.close());

const state = (page, wanted) => page.waitForFunction((state) => document.documentElement.dataset.bore === state, wanted);
const told = (page) => state(page, "told");
const words = (page) => page.textContent("#bore .bore-words");
const cell = (page, row, column) => page.locator(`#bore [data-cell="${row}.${column}_mm"]`);
const fault = (page, row) => page.textContent(`#bore-fault-${row}`);
const press = (page, name) => page.locator("#bore").getByRole("button", { name, exact: true }).click();
const enterRoom = async (options = {}) => {
  const opened = await openPage(chromium, { path: "/shop/neck/#bore", ready: false, ...options });
  await told(opened.page);
  await cell(opened.page, 0, "diameter").waitFor();
  return opened;
};

/** Note and shift of each row of the table, which is drawn when the hand has rested. */
const shifts = async (page) => {
  await page.waitForTimeout(400);
  return page.$$eval('#bore [aria-label="Every note"] tbody tr', (rows) => Object.fromEntries(rows.map((row) => [row.cells[0].textContent, Number.parseFloat(row.cells[2].textContent.replace("−", "-"))])));
};

/** The same two bores asked of the module itself, whose numbers are held against the command and an independent library. */
function compared(first, second, horn, csv) {
  const bores = new Bores();
  if (horn !== undefined) assert.ok(bores.setHorn(horn).ok);
  assert.ok(bores.setNeck(0, "first", first).ok);
  assert.ok(bores.setNeck(1, "second", second).ok);
  if (csv !== undefined) assert.ok(bores.setProfile(1, csv).ok);
  const { comparison } = bores.compare();
  bores.free();
  return comparison;
}

/** Shifts to a tenth of a cent, as the page rounds them. */
const rounded = ({ notes }) => Object.fromEntries(notes.map(({ written, shift_cents }) => [written, Number(shift_cents.toFixed(1))]));
const asked = (...bores) => rounded(compared(...bores));

/** An aim asked of the module itself. */
function aimedAt(first, wanted) {
  const bores = new Bores();
  assert.ok(bores.setNeck(0, "first", first).ok);
  const { ok, aimed } = bores.aim({ wanted });
  bores.free();
  assert.ok(ok);
  return aimed;
}

/** A pattern that a text matches in which this stands as it is; spaces of any kind. */
const plain = (text) => new RegExp(text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&").replace(/\s+/g, "\\s"));
/** A number with its sign, as it is written for people. */
const written = (value, places = 1) => (Number(value.toFixed(places)) === 0 ? (0).toFixed(places) : `${value > 0 ? "+" : "−"}${Math.abs(value).toFixed(places)}`);

async function give(page, button, name, text, mimeType = "application/json") {
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), press(page, button)]);
  await chooser.setFiles({ name, mimeType, buffer: Buffer.from(text) });
}

/** Every control of the room has a name, contrast is enough, and so on, as an independent checker sees it. */
const noViolations = async (page, where) => assert.deepEqual(await judged(page, "#bore"), [], where);

test("from the bench: the shipped bores, a horn of its own, and what they do, in words before numbers", async () => {
  const fetched = [];
  const { page, faults, close } = await openPage(chromium, { before: (page) => page.on("request", (request) => fetched.push(request.url())) });
  assert.deepEqual(fetched.filter((url) => /assets\/(bore-|worker-bore)/.test(url)), [], "nothing of the room is loaded before it is wanted");
  await page.click("text=Go on with this alto");
  await page.getByRole("navigation", { name: "Rooms of the shop" }).getByRole("link", { name: "Bore", exact: true }).click();
  await told(page);
  assert.match(await page.textContent("#bore-second option:checked"), /invented/);
  await page.selectOption("#bore-first", "shipped-tighter");
  await told(page);
  const comparison = compared(example("bores", "alto_tighter"), example("bores", "alto_more_open"));
  await page.waitForFunction((note) => document.querySelector('#bore [aria-label="Every note"] tbody th').textContent === note, comparison.notes[0].written);
  assert.deepEqual(await shifts(page), rounded(comparison));
  const says = await words(page);
  // what a player would notice first is named first, each note in the sentence of the way it goes
  const sure = comparison.notes.filter(({ shift_cents, uncertainty_cents }) => Math.abs(shift_cents) > uncertainty_cents);
  const unsure = comparison.notes.filter((note) => !sure.includes(note)).map((note) => note.written);
  for (const [way, first] of [["Up", sure.find(({ shift_cents }) => shift_cents > 0)], ["Down", sure.find(({ shift_cents }) => shift_cents < 0)]]) {
    assert.match(says, plain(`${way} go ${first.written} by ${Math.abs(first.shift_cents).toFixed(1)} ± ${first.uncertainty_cents.toFixed(1)}`));
  }
  assert.ok(unsure.length > 0);
  assert.match(says, plain(`${unsure.at(-1)} ${unsure.length === 1 ? "moves" : "move"} by less than what the diameters are known for`));
  assert.match(says, /A plain cone stands in/);
  const cm3 = (mm3) => `${(mm3 / 1000).toFixed(2)} cm³`;
  assert.match(says, plain(`on the horn and in the mouthpiece of the first’s job: receiver ${comparison.horn.receiver_bore_mm.toFixed(2)} mm, shank ${comparison.horn.shank_bore_mm.toFixed(2)} mm, ${cm3(comparison.a.missing_cone.volume_mm3)}`));
  assert.match(await page.textContent(".bore-caution"), /comparison .* not a prediction of a player/);
  // a picture of every kind has words, and its lines differ by more than their colour
  const top = comparison.notes[0].written;
  const angles = comparison.a.profile.map(({ half_angle_deg }) => half_angle_deg);
  const names = ["Shift of every note", `Impedance at the reed of ${top} on both necks`, `The peak ${top} is played on`, `Half-angle along the length: first from ${Math.min(...angles).toFixed(2)} to ${Math.max(...angles).toFixed(2)} degrees`];
  for (const name of names.map(plain)) assert.equal(await page.getByRole("img", { name }).count(), 1, String(name));
  const dashes = await page.$$eval("#bore .plot-sample path", (lines) => lines.map((line) => getComputedStyle(line).strokeDasharray));
  assert.deepEqual(dashes.map((dash) => dash === "none"), [true, false, true, false, true, false]);
  await page.selectOption("#bore-note", "A4");
  await page.getByRole("img", { name: /^Impedance at the reed of A4/ }).waitFor();
  assert.match(await page.textContent("#bore"), plain(`Missing cone: what the mouthpiece must hold${cm3(comparison.a.missing_cone.volume_mm3)}`));

  await page.selectOption("#bore-horn", "shipped-horn");
  await told(page);
  const horn = asked(example("bores", "alto_tighter"), example("bores", "alto_more_open"), example("bores", "horn_invented"));
  assert.deepEqual(await shifts(page), horn);
  assert.notDeepEqual(horn, rounded(comparison));
  noFaults(faults);
  await close();
});

test("the second bore is changed in the table, and every fault is told at its row", async () => {
  const { page, faults, close } = await enterRoom();
  await page.selectOption("#bore-second", "shipped-tighter");
  await told(page);
  await cell(page, 2, "diameter").fill("13.5");
  await told(page);
  const csv = example("bores", "alto_tighter");
  const rows = JSON.parse(csv).bore.table.map(({ station_mm, diameter_mm }, index) => `${station_mm},${index === 2 ? 13.5 : diameter_mm}`).join("\n");
  assert.deepEqual(await shifts(page), asked(example("jobs", "alto"), csv, undefined, rows));
  const good = await words(page);

  // three rows are wrong at once: no diameter, out of order, no number
  await cell(page, 4, "diameter").fill("0");
  await cell(page, 7, "station").fill("55");
  await state(page, "refused");
  await page.waitForFunction(() => document.querySelector("#bore-fault-7").textContent !== "");
  assert.match(await fault(page, 4), /Diameter: Allowed: more than 0\./);
  assert.match(await fault(page, 7), /Station: Allowed: at least/);
  assert.equal(await cell(page, 4, "diameter").getAttribute("aria-invalid"), "true");
  await cell(page, 9, "diameter").fill("wide");
  assert.match(await fault(page, 9), /“wide” is not a number/);
  assert.equal(await words(page), good, "the last good comparison stays");
  assert.match(await page.textContent("#bore-of-words ~ .fault:not([hidden])"), /as it was before/);
  // what is wrong is neither kept nor laid on the bench
  await press(page, "Lay it in the job on the bench");
  assert.match(await page.textContent("#bore-done"), /must be put right first: nothing was changed/);
  await cell(page, 9, "diameter").fill("17.341");
  await cell(page, 7, "station").fill("70");
  await cell(page, 4, "diameter").fill("14.5");
  await told(page);
  assert.equal(await page.locator("#bore .bore-table .fault:visible").count(), 0);

  // a row in, a row out, one change after the other taken back
  const count = () => page.locator("#bore .bore-table tbody tr:not([hidden])").count();
  const before = await count();
  await page.getByRole("button", { name: "Put a row after row 3" }).click();
  assert.equal(await count(), before + 1);
  assert.equal(await cell(page, 3, "station").inputValue(), "25");
  await page.getByRole("button", { name: "Take out row 1", exact: true }).click();
  await state(page, "refused");
  assert.match(await fault(page, 0), /from the cork end/);
  for (let step = 0; step < 2; step += 1) await press(page, "Take the last change back");
  assert.equal(await count(), before);
  await told(page);
  assert.equal(await cell(page, 4, "diameter").inputValue(), "14.5");
  await page.reload();
  await told(page);
  await page.waitForFunction(() => document.querySelector('[data-cell="4.diameter_mm"]')?.value === "14.5");
  await press(page, "As it came");
  await page.waitForFunction(() => document.querySelector('[data-cell="4.diameter_mm"]').value !== "14.5");
  noFaults(faults);
  await close();
});

test("CSV goes out and comes in; a bad one is refused with every row, and nothing is changed", async () => {
  const { page, faults, close } = await enterRoom();
  const { bytes } = await download(page, () => press(page, "Save as CSV"));
  const lines = bytes.toString().trim().split("\n");
  assert.equal(lines[0], "station_mm,diameter_mm");
  assert.equal(lines[1], "0.000,12.700");
  const before = await words(page);
  await give(page, "Open a CSV", "bad.csv", "0,12\n10,abc\n20;\n", "text/csv");
  await page.waitForFunction(() => /bad\.csv was not taken/.test(document.querySelector("#bore").textContent));
  const said = await page.textContent("#bore-of-table ~ .group:not(:empty)");
  assert.match(said, /Line 2 .*10,abc.*two numbers/);
  assert.match(said, /Line 3/);
  // the lines that can be read are asked too: such a table ends at 20 mm
  assert.match(said, /The last row, station/);
  assert.match(said, /3 things are wrong/);
  await give(page, "Open a CSV", "jumps.csv", "0,12\n10,0\n5,13\n150,40\n", "text/csv");
  await page.waitForFunction(() => /jumps\.csv was not taken/.test(document.querySelector("#bore").textContent));
  const jumps = await page.textContent("#bore-of-table ~ .group:not(:empty)");
  for (const expected of [/Row 2, diameter/, /Row 3, station/, /Row 4, station .*hole/, /The last row, station/]) assert.match(jumps, expected);
  assert.equal(await words(page), before);
  // inches, by a semicolon and a comma for the point
  await give(page, "Open a CSV", "inches.csv", `station_in;diameter_in\n${lines.slice(1).map((line) => line.split(",").map((mm) => String((Number(mm) + (mm === "12.700" ? 0.254 : 0)) / 25.4).replace(".", ",")).join(";")).join("\n")}\n`, "text/csv");
  await page.waitForFunction(() => /inches\.csv: \d+ rows were taken/.test(document.querySelector("#bore-table-done").textContent));
  assert.equal(Number(await cell(page, 0, "diameter").inputValue()).toFixed(3), "12.954");
  await told(page);
  assert.notEqual(await words(page), before);

  // a bump is faired
  await press(page, "As it came");
  await cell(page, 6, "diameter").fill("16.4");
  await told(page);
  await press(page, "Fair it");
  await page.waitForFunction(() => /Bumps were at .*60\.00/.test(document.querySelector("#bore-table-done").textContent));
  const faired = Number(await cell(page, 6, "diameter").inputValue());
  assert.ok(faired < 16.2 && faired > 15.6, String(faired));
  noFaults(faults);
  await close();
});

test("a point is dragged and moved by keys, and the comparison follows", async () => {
  const { page, faults, close } = await enterRoom();
  const point = (index) => page.locator(`#bore [data-point="${index}"]`);
  const value = async (index) => Number(await cell(page, index, "diameter").inputValue());
  const before = await words(page);
  const was = await value(3);
  await point(3).scrollIntoViewIfNeeded();
  const box = await point(3).boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  for (let step = 1; step <= 10; step += 1) await page.mouse.move(x, y + 3 * step);
  await page.waitForFunction((text) => document.querySelector("#bore .bore-words").textContent !== text, before);
  await page.mouse.up();
  await told(page);
  const dragged = await value(3);
  assert.ok(dragged < was - 0.05 && dragged > was - 0.4, `${was} to ${dragged}`);
  await press(page, "Take the last change back");
  assert.equal(await value(3), was, "a drag is one change");
  await told(page);

  // from the hand to words, tables and pictures that follow it
  await page.evaluate(() => {
    window.answers = 0;
    let moved = false;
    document.querySelector("#bore .plot-picture[role=group]").addEventListener("pointermove", () => (moved = true), true);
    new MutationObserver(() => {
      if (document.documentElement.dataset.bore === "asked" || !moved) return;
      window.answers += 1;
      moved = false;
    }).observe(document.documentElement, { attributes: true, attributeFilter: ["data-bore"] });
  });
  const again = await point(3).boundingBox();
  await page.mouse.move(again.x + again.width / 2, again.y + again.height / 2);
  await page.mouse.down();
  for (let step = 1; step <= 40; step += 1) {
    const count = await page.evaluate(() => window.answers);
    await page.mouse.move(again.x + again.width / 2, again.y + again.height / 2 + 2 * ((step % 20) + 1));
    await page.waitForFunction((before) => window.answers > before, count);
  }
  await page.mouse.up();
  // how soon is for the benchmark to say: here every step has its answer before the next
  assert.ok((await page.evaluate(() => window.answers)) >= 40);
  await press(page, "Take the last change back");
  await told(page);

  await point(0).focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("ArrowRight");
  const two = await value(2);
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("Shift+ArrowDown");
  assert.equal((await value(2)).toFixed(2), (two + 0.09).toFixed(2));
  assert.equal(await page.evaluate(() => document.activeElement.dataset.point), "2", "the point keeps the focus");
  assert.match(await point(2).getAttribute("aria-valuetext"), /wider than the first/);
  await told(page);
  const first = 12.3 + 2 * 20 * Math.tan((1.6 * Math.PI) / 180);
  assert.match(await page.textContent(".bore-at"), plain(`Point at station 20.00: ${(two + 0.09).toFixed(2)} mm, ${(two + 0.09 - first).toFixed(2)} mm wider than the first`));
  noFaults(faults);
  await close();
});

test("towards an aim: sought, told honestly, taken over, kept as a variant and laid on the bench", async () => {
  const { page, faults, close } = await enterRoom();
  await page.fill("#bore-aim-cents-0", "soon");
  await press(page, "Seek a bore");
  await page.waitForFunction(() => /“soon” is not a number of cents/.test(document.querySelector("#bore").textContent));
  await page.fill("#bore-aim-cents-0", "-300");
  await press(page, "Seek a bore");
  await page.waitForFunction(() => /Allowed: -100 to 100/.test(document.querySelector("#bore-aim-fault-0").textContent));
  await page.fill("#bore-aim-cents-0", "-3");
  await press(page, "Seek a bore");
  await page.waitForSelector("[data-do=take-aim]");
  const says = await page.textContent("#bore-of-aim ~ div");
  const found = aimedAt(example("jobs", "alto"), [{ written: "A4", cents: -3 }, { written: "C#5", cents: -4 }]);
  assert.ok(found.reached);
  assert.match(says, /The aim is reached/);
  for (const note of found.notes) {
    if (note.wanted_cents !== null) assert.match(says, plain(`${note.written}: wanted ${written(note.wanted_cents)}, moves ${written(note.got_cents)} cents`));
    else assert.equal(plain(`${note.written} by ${written(note.got_cents)} cents, its peak by ${written(note.height_change_db)} dB`).test(says), note.gets_worse, note.written);
  }
  assert.ok(found.notes.some(({ gets_worse }) => gets_worse));
  assert.match(says, /What gets worse:/);
  await press(page, "Take it as the second bore");
  await told(page);
  assert.match(await page.textContent("#bore-second option:checked"), /once more/);
  const moved = await shifts(page);
  assert.ok(Math.abs(moved["A4"] + 3) < 1 && Math.abs(moved["C#5"] + 4) < 1, JSON.stringify(moved));

  await page.fill("#bore-name", "Calmer top");
  await press(page, "Keep it");
  await page.waitForFunction(() => [...document.querySelectorAll("#bore-second option")].some(({ textContent }) => textContent === "Calmer top"));
  await press(page, "Lay it in the job on the bench");
  await page.waitForFunction(() => /bore of the job on the bench now/.test(document.querySelector("#bore-done").textContent));
  await told(page);
  for (const cents of Object.values(await shifts(page))) assert.ok(Math.abs(cents) < 0.15, "both are the same now");
  // one change of the job, and taken back as one
  await page.getByRole("navigation", { name: "Rooms of the shop" }).getByRole("link", { name: "Bench" }).click();
  await page.waitForFunction(() => document.documentElement.dataset.work === "idle");
  await page.keyboard.press("Control+z");
  await page.waitForFunction(() => /^Taken back: .*Another bore/.test(document.querySelector("#step-said").textContent));
  await page.getByRole("navigation", { name: "Rooms of the shop" }).getByRole("link", { name: "Bore", exact: true }).click();
  await page.selectOption("#bore-second", { label: "Calmer top" });
  await told(page);
  assert.deepEqual(await shifts(page), moved);
  noFaults(faults);
  await close();
});

test("air, mouthpiece and the limits of an aim are set, and what cannot be is told beside its field", async () => {
  const { page, faults, close } = await enterRoom();
  const set = (path) => page.locator(`#bore [data-path="${path}"]`);
  const beside = (id) => page.textContent(`#${id}-fault`);
  await page.locator("#bore summary").first().click();
  assert.match(await page.locator("#bore summary").first().textContent(), /27 °C, humidity 100 %, carbon dioxide 2\.5 %, mouthpiece as what is missing/);
  const good = await words(page);
  await set("air.temperature_c").fill("99");
  await set("air.humidity_percent").fill("wet");
  await set("mouthpiece_volume_mm3").fill("0.1");
  await state(page, "refused");
  assert.match(await beside("bore-set-air-temperature_c"), /Allowed: 0 to 40/);
  assert.match(await beside("bore-set-air-humidity_percent"), /Allowed: .*0 to 100/);
  assert.match(await beside("bore-set-mouthpiece_volume_mm3"), /Allowed: 0\.5 to 60/);
  assert.equal(await set("air.carbon_dioxide_percent").getAttribute("aria-invalid"), null);
  assert.equal(await words(page), good);
  await set("air.temperature_c").fill("20");
  await set("air.humidity_percent").fill("50");
  await set("mouthpiece_volume_mm3").fill("8.2");
  await told(page);
  const horn = JSON.parse(example("bores", "horn_stand_in"));
  Object.assign(horn.air, { temperature_c: 20, humidity_percent: 50 });
  horn.mouthpiece_volume_mm3 = 8200;
  assert.deepEqual(await shifts(page), asked(example("jobs", "alto"), example("bores", "alto_more_open"), JSON.stringify(horn)));
  // Truth, by hand: a cone of 12.3 mm entry and 1.6° is missing π r³/(3 tan α); the shank, 17.2 mm, gains π d²/4 a millimetre
  const missing = (Math.PI * 6.15 ** 3) / (3 * Math.tan((1.6 * Math.PI) / 180));
  const pull = (missing - 8200) / ((Math.PI * 17.2 ** 2) / 4);
  assert.match(await page.textContent("#bore-of-cone ~ div"), plain(`mouthpiece is taken to hold 8.20 cm³ pushed on all the way: pulled by ${pull.toFixed(2)} mm it holds what is missing`));
  await page.reload();
  await told(page);
  assert.equal(await set("air.temperature_c").inputValue(), "20", "what was set stays for the next visit");
  await page.locator("#bore summary").first().click();
  await press(page, "As the horn’s file says");
  await told(page);
  assert.equal(await set("air.temperature_c").inputValue(), "27");

  const limit = (name) => page.locator(`#bore-limit-${name}`);
  // what can usually be made is the core's to say
  for (const [name, value] of Object.entries(usualLimits())) assert.equal(Number(await limit(name).inputValue()), value, name);
  await limit("most_change_mm").fill("much");
  await limit("least_diameter_mm").fill("20");
  await page.fill("#bore-aim-cents-1", "-400");
  await press(page, "Seek a bore");
  await page.waitForFunction(() => document.querySelector("#bore-limit-most_change_mm-fault").textContent !== "");
  assert.match(await beside("bore-limit-least_diameter_mm"), plain(`At station 0 mm the bore is 12.30 mm, and may change by ${usualLimits().most_change_mm.toFixed(2)} mm at most`));
  assert.match(await page.textContent("#bore-aim-fault-1"), /-100 to 100/);
  await limit("most_change_mm").fill("0.1");
  await limit("least_diameter_mm").fill("12.25");
  await page.fill("#bore-aim-cents-1", "-8");
  await press(page, "Seek a bore");
  await page.waitForFunction(() => /The aim is not reached.*The new bore stands at these limits: .*most change of a diameter/.test(document.querySelector("#bore-of-aim ~ div").textContent));
  noFaults(faults);
  await close();
});

test("along the length: both bores in numbers and as CSV, and where the vent and the wall’s ends disturb the area", async () => {
  const { page, faults, close } = await enterRoom();
  // Truth, by hand: circles of the alto's cone (12.3 mm at 1.6°) and of its shank; what the vent takes at its axis is the segment
  // of the bore's circle under a chord as wide as the vent, less the strip between the chord and the vent's flat end
  const { vent: given, mouthpiece, tenon, centreline } = JSON.parse(example("jobs", "alto"));
  const diameter = (station) => 12.3 + 2 * station * Math.tan((1.6 * Math.PI) / 180);
  const circle = (diameter) => (Math.PI * diameter ** 2) / 4;
  const [r, floor] = [diameter(given.station_mm) / 2, diameter(given.station_mm) / 2 - given.reach_inside_mm];
  const half = Math.min(given.outer_diameter_mm / 2, Math.sqrt(r ** 2 - floor ** 2));
  const taken = r ** 2 * Math.asin(half / r) + half * Math.sqrt(r ** 2 - half ** 2) - 2 * half * floor;
  const length = centreline.pieces.reduce((sum, { straight_mm, bend_deg, radius_mm }) => sum + (straight_mm ?? (bend_deg * Math.PI * radius_mm) / 180), 0);
  const disturbed = await page.textContent('#bore [aria-label="Where the area is disturbed"]');
  const areas = (before, after) => `${before.toFixed(1)} → ${after.toFixed(1)}`;
  assert.match(disturbed, plain(`End of the vent in the bore, first${given.station_mm.toFixed(2)}${areas(circle(2 * r), circle(2 * r) - taken)}`));
  assert.match(disturbed, plain(`Wall’s end in the mouthpiece, first0.00${areas(circle(12.3), circle(mouthpiece.shank_bore_mm))}`));
  assert.match(disturbed, plain(`Tube’s end in the socket, second${(length - tenon.length_mm - tenon.collar_length_mm + tenon.socket_depth_mm).toFixed(2)}`));
  assert.match(disturbed, /Wall’s end in the receiver, second/);
  const { bytes } = await download(page, () => press(page, "Save both as CSV"));
  const [head, ...lines] = bytes.toString().trim().split("\n");
  assert.match(head, /^station_mm,a_diameter_mm,b_diameter_mm,difference_mm,/);
  const vent = lines.map((line) => line.split(",").map(Number)).find(([station]) => station === 66);
  assert.ok(Math.abs(vent[1] - 2 * r) < 1e-3 && Math.abs(vent[6] - circle(2 * r) + taken) < 0.02, String(vent));
  assert.deepEqual(lines[0].split(",").slice(0, 4), ["0.000", "12.3000", "12.7000", "0.4000"]);
  await page.locator("#bore summary", { hasText: "Both bores in numbers" }).click();
  assert.equal(await page.locator('#bore [aria-label="Both bores along their length"] tbody tr').count(), lines.length);
  // the body's own vent: a cone has none, the measured horn has
  assert.match(await words(page), /D5, F5 and G5 are played with an octave vent on the body, which this horn is without/);
  await page.selectOption("#bore-horn", "shipped-horn");
  await told(page);
  assert.doesNotMatch(await words(page), /is without here/);
  noFaults(faults);
  await close();
});

test("by keyboard alone, from the choice to a bore towards an aim that is kept", async () => {
  const { page, faults, close } = await enterRoom();
  await page.getByRole("heading", { name: "Bore", level: 2 }).focus();
  const reach = (selector) => tabTo(page, selector, 150);
  await reach("#bore-second");
  await page.keyboard.press("Home");
  await page.waitForFunction(() => /No note moves/.test(document.querySelector("#bore .bore-words").textContent));
  await reach('[data-point="0"]');
  await page.keyboard.press("ArrowUp");
  await told(page);
  await reach('[data-cell="1.diameter_mm"]');
  await page.keyboard.press("ArrowUp");
  await told(page);
  assert.ok(Object.values(await shifts(page)).some((cents) => cents !== 0));
  assert.match(await page.textContent(".bore-at"), /0\.10 mm wider than the first/);
  await reach("#bore-aim-cents-0");
  await page.keyboard.press("Control+a");
  await page.keyboard.type("-2");
  await reach("[data-do=seek]");
  await page.keyboard.press("Enter");
  await page.waitForSelector("[data-do=take-aim]");
  await reach("[data-do=take-aim]");
  await page.keyboard.press("Enter");
  await told(page);
  await reach("#bore-name");
  await page.keyboard.type("By keys");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => /kept as the variant “By keys”/.test(document.querySelector("#bore-done").textContent));
  noFaults(faults);
  await close();
});

test("by a finger on a phone, and in inches, with millimetres in the file", async () => {
  const { page, faults, close } = await enterRoom({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
  // the room is long on a phone: there is a way to its sections, which takes the focus along
  await press(page, "To both bores");
  assert.equal(await page.evaluate(() => document.activeElement.id), "bore-of-drawn");
  const point = page.locator('#bore [data-point="2"]');
  await point.scrollIntoViewIfNeeded();
  const box = await point.boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const hand = await finger(page);
  await hand.down(x, y);
  for (let step = 1; step <= 8; step += 1) await hand.move(x, y - 4 * step);
  await hand.up();
  await told(page);
  assert.ok(Number(await cell(page, 2, "diameter").inputValue()) > 13.72, "the point went up with the finger");
  await page.locator('#unit-switch input[value="in"]').check();
  await cell(page, 2, "diameter").fill("0.55");
  await told(page);
  assert.match(await page.textContent("#bore-of-cone ~ div"), /Entry, in/);
  const { bytes } = await download(page, () => press(page, "Save as CSV"));
  assert.match(bytes.toString(), /\n20\.000,13\.970\n/);
  noFaults(faults);
  await close();
});

test("horn and mouthpiece are the first’s for both, and a bore that leaves the vent no room is refused", async () => {
  const { page, faults, close } = await enterRoom();
  const other = JSON.parse(example("bores", "alto_more_open"));
  other.horn.receiver_depth_mm = 25;
  await give(page, "Open a job file as the second", "other.json", JSON.stringify(other));
  await told(page);
  await page.waitForFunction(() => /is not asked/.test(document.querySelector("#bore .bore-words").textContent));
  const { horn } = JSON.parse(example("jobs", "alto"));
  assert.match(await words(page), plain(`horn.receiver_depth_mm 25.00 mm instead of ${horn.receiver_depth_mm.toFixed(2)}`));
  assert.deepEqual(await shifts(page), asked(example("jobs", "alto"), example("bores", "alto_more_open")));
  // Truth, by hand: the hole for the vent may be 0.6 of the bore, so at the vent the bore is at least (4.5 + 2 · 0.05)/0.6 wide
  await page.locator("#bore summary", { hasText: "Paste it" }).click();
  const take = async (atVent) => {
    await page.fill("#bore-csv", `0,11.9\n20,11.9\n66,${atVent}\n110,17.9\n150,20.6\n193.2,23.09\n`);
    await press(page, "Take these rows");
  };
  const { vent, limits } = other;
  const least = (vent.outer_diameter_mm + 2 * limits.joint_gap_mm) / 0.6;
  await take((least - 0.01).toFixed(3));
  await page.waitForFunction(() => /The rows was not taken.*One thing is wrong:.*hole for the vent/s.test(document.querySelector("#bore").textContent));
  // what only the job's other parts speak against can be compared; that it cannot be made so is said
  await take((least + 0.01).toFixed(3));
  await told(page);
  await page.waitForFunction(() => /As the second’s job stands it cannot be made/.test(document.querySelector("#bore .bore-words").textContent));
  noFaults(faults);
  await close();
});

test("files that are none are refused; another voice, a job with faults and a hostile name are told as text", async () => {
  const { page, faults, close } = await enterRoom();
  const alerts = () => page.textContent("#bore-of-choice ~ .group");
  await give(page, "Open a job file as the second", "none.json", "{");
  await page.waitForFunction(() => /none\.json was not opened/.test(document.querySelector("#bore").textContent));
  await give(page, "Open a horn file", "job.json", example("jobs", "alto"));
  await page.waitForFunction(() => /no format “neckwright-horn/.test(document.querySelector("#bore").textContent));
  const bad = JSON.parse(example("jobs", "alto"));
  bad.bore = { entry_diameter_mm: -1, half_angle_deg: 1.6 };
  bad.tube.wall_mm = 90;
  await give(page, "Open a job file as the second", "<img src=x onerror=alert(1)>.json", JSON.stringify(bad));
  await state(page, "refused");
  assert.match(await alerts(), /The second, bore\.entry_diameter_mm: .*The second, tube\.wall_mm/s);
  assert.equal(await page.locator("#bore img").count(), 0);
  await give(page, "Open a job file as the second", "tenor.json", example("jobs", "tenor"));
  await page.waitForFunction(() => /The first belongs to an alto, the second to a tenor/.test(document.querySelector("#bore").textContent));
  await page.selectOption("#bore-second", "same");
  await told(page);
  assert.match(await words(page), /No note moves by more than what the diameters are known for/);
  const horn = JSON.parse(example("bores", "horn_invented"));
  horn.body.bore[2].diameter_mm = 0;
  await give(page, "Open a horn file", "horn.json", JSON.stringify(horn));
  await state(page, "refused");
  assert.match(await alerts(), /The horn, .*diameter_mm/);
  noFaults(faults);
  await close();
});

test("without a network the room works that was never gone to before", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.click("text=Go on with this alto");
  await page.waitForFunction(() => document.querySelector(".step-offline").textContent.includes("works without a network"));
  await page.context().setOffline(true);
  await page.getByRole("navigation", { name: "Rooms of the shop" }).getByRole("link", { name: "Bore", exact: true }).click();
  await told(page);
  noFaults(faults);
  await close();
});

for (const [name, options] of [
  ["a desk", { viewport: { width: 1440, height: 900 } }],
  ["a desk under a lamp", { viewport: { width: 1440, height: 900 }, colorScheme: "dark" }],
  ["a phone", { viewport: { width: 320, height: 640 }, hasTouch: true, isMobile: true }],
  ["a phone under a lamp", { viewport: { width: 320, height: 640 }, hasTouch: true, isMobile: true, colorScheme: "dark" }],
]) {
  test(`on ${name} nothing is cut off, and an independent checker finds nothing`, async () => {
    const { page, faults, close } = await enterRoom(options);
    await press(page, "Seek a bore");
    await page.waitForSelector("[data-do=take-aim]");
    for (const summary of await page.locator("#bore summary").all()) await summary.click();
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), true);
    if (options.hasTouch) {
      const low = await page.$$eval("#bore button, #bore select, #bore input:not([type=radio]):not([hidden]), #bore summary", (all) => all.filter((one) => one.checkVisibility()).map((one) => [one.id || one.textContent, one.getBoundingClientRect().height]).filter(([, height]) => height < 43.5));
      assert.deepEqual(low, []);
    }
    await noViolations(page, name);
    await cell(page, 3, "diameter").fill("0");
    await state(page, "refused");
    await noViolations(page, `${name}, refused`);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), true);
    noFaults(faults);
    await close();
  });
}
