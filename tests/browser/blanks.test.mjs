// The room of the blanks, as a maker goes through it: by mouse, by keyboard, on a phone, with what is wrong.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { tabTo } from "./hands.mjs";
import { judged } from "./judge.mjs";
import { download, noFaults, openPage, ROOT, startBrowser } from "./open_page.mjs";


let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const told = (page) => page.waitForFunction(() => document.documentElement.dataset.blanks === "told");
const lay = (page, state) => page.waitForFunction((wanted) => document.querySelector("[data-lay]").dataset.lay === wanted, state);
const field = (page, path) => page.locator(`#blanks [data-path="${path}"]`);
const faultOf = (page, path) => page.textContent(`#blanks-${path.replace(/\W+/g, "-")}-fault`);
const enterRoom = async (options = {}) => {
  const opened = await openPage(chromium, { path: "/shop/neck/#blanks", ready: false, ...options });
  await told(opened.page);
  await field(opened.page, "halves").waitFor();
  return opened;
};

/** Every control of the room has a name, contrast is enough, and so on, as an independent checker sees it. */
const noViolations = async (page, where) => assert.deepEqual(await judged(page, "#blanks"), [], where);

test("from the bench to blanks on a sheet, and their files", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.click("text=Go on with this alto");
  await page.getByRole("navigation", { name: "Rooms of the shop" }).getByRole("link", { name: "Blanks" }).click();
  await told(page);
  // Truth: lay_blanks says the same of this job by command, whose numbers are held against an independent minimiser
  assert.match(await page.textContent("#blanks .cost-words"), /A: greatest stretch 3\.4 % at station 143\.44 mm/);
  assert.match(await page.textContent("#blanks .cost-words"), /estimate/);
  assert.ok((await page.locator(".blank-picture .strain").count()) > 200);
  assert.equal(await page.locator(".blank-picture .strain-mark").count(), 2, "greatest stretch and shrink have a letter and not only a colour");
  const picture = () => page.locator(".blank-picture").innerHTML();
  const stretch = await picture();
  await page.locator('[name="blanks-shown"][value="shrink"]').check();
  assert.notEqual(await picture(), stretch);
  const half = () => page.locator(".half-picture").innerHTML();
  const seen = await half();
  await page.locator("#blanks-turn").focus();
  await page.keyboard.press("ArrowRight");
  assert.notEqual(await half(), seen, "the half shell turns");
  await page.getByText("The map in numbers").click();
  assert.ok((await page.locator(".strain-table tbody tr").count()) > 20);

  await page.selectOption("#blanks-begin", { label: "Small sheets, 305 × 305 mm" });
  await field(page, "halves").fill("4");
  await told(page);
  await page.selectOption("#blanks-seconds", "60");
  await page.getByRole("button", { name: "Lay the blanks" }).click();
  await lay(page, "stands");
  assert.match(await page.textContent(".lay-status"), /Done: nothing better can be asked for\. All 4 half shells on 1 sheet\./);
  assert.equal(await page.locator(".sheet-picture .laid").count(), 4);
  const figures = await page.textContent(".lay-figures");
  const shown = Number(/Yield(\d+\.\d) %/.exec(figures)[1]);
  for (const words of ["Metal bought", "Of it wasted", "Off-cut left whole"]) assert.ok(figures.includes(words), words);

  const data = JSON.parse((await download(page, () => page.getByRole("button", { name: "Lay as data" }).click())).bytes);
  assert.equal(data.pieces, 4);
  assert.equal(data.placements.length, 4);
  // Truth: area of the blanks over that of the sheet
  assert.ok(Math.abs((4 * data.blank_area_mm2) / 305 ** 2 - data.yield) < 1e-9 && Math.abs(data.yield * 100 - shown) <= 0.05);
  for (const [name, begins, called] of [
    ["Blank DXF", /^\s*0\r?\nSECTION/, "blank.dxf"],
    ["Blank SVG", /^</, "blank.svg"],
    ["Gauges DXF", /^\s*0\r?\nSECTION/, "gauges.dxf"],
    ["Gauges SVG", /^</, "gauges.svg"],
    ["Strains", /^\{/, "strain.json"],
    ["Lay DXF", /^\s*0\r?\nSECTION/, "lay.dxf"],
    ["Lay SVG", /^</, "lay.svg"],
    ["PDF at true size", /^%PDF/, "print.pdf"],
  ]) {
    const file = await download(page, () => page.getByRole("button", { name, exact: true }).click());
    assert.equal(file.name, `DEMO-001-${called}`);
    assert.match(file.bytes.toString("latin1"), begins);
  }
  // Truth: ISO 216 and the North American sizes, in points
  const boxOf = (bytes) => /MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)/.exec(bytes.toString("latin1")).slice(1).map(Number).sort((a, b) => a - b);
  const pdf = () => download(page, () => page.getByRole("button", { name: "PDF at true size" }).click());
  const a4 = boxOf((await pdf()).bytes);
  assert.ok(Math.abs(a4[0] - (210 / 25.4) * 72) < 0.1 && Math.abs(a4[1] - (297 / 25.4) * 72) < 0.1, String(a4));
  await page.selectOption("#blanks-paper", "letter");
  assert.deepEqual(boxOf((await pdf()).bytes).map(Math.round), [612, 792]);
  noFaults(faults);
  await close();
});

test("a lay asked for right after a change is of the change", async () => {
  const { page, faults, close } = await enterRoom();
  await page.selectOption("#blanks-seconds", "60");
  await field(page, "halves").fill("2");
  await page.getByRole("button", { name: "Lay the blanks" }).click();
  assert.match(await page.textContent(".lay-status"), /then laying begins/);
  await lay(page, "stands");
  assert.match(await page.textContent(".lay-status"), /All 2 half shells on 1 sheet/);
  noFaults(faults);
  await close();
});

test("a blank handed out while its lay is searched leaves the search alone", async () => {
  const { page, faults, close } = await enterRoom();
  await page.selectOption("#blanks-seconds", "300");
  await page.getByRole("button", { name: "Lay the blanks" }).click();
  await page.waitForFunction(() => document.querySelectorAll(".sheet-picture .laid").length > 3);
  const file = await download(page, () => page.getByRole("button", { name: "Blank DXF", exact: true }).click());
  assert.match(file.bytes.toString("latin1"), /^\s*0\r?\nSECTION/);
  assert.equal(await page.evaluate(() => document.querySelector("[data-lay]").dataset.lay), "running");
  const many = await page.locator(".sheet-picture .laid").count();
  assert.ok(many > 3, `${many} are laid still`);
  await page.getByRole("button", { name: "Stop" }).click();
  await lay(page, "stands");
  noFaults(faults);
  await close();
});

test("a lay is stopped, goes on, and is the same again for its seed and rounds", async () => {
  const { page, faults, close } = await enterRoom();
  await page.selectOption("#blanks-seconds", "300");
  await page.getByRole("button", { name: "Lay the blanks" }).click();
  await page.waitForFunction(() => document.querySelectorAll(".sheet-picture .laid").length > 3);
  assert.equal(await page.locator("progress").isVisible(), true);
  await page.getByRole("button", { name: "Stop" }).click();
  await lay(page, "stands");
  assert.match(await page.textContent(".lay-status"), /^Stopped\. \d+ of 40 half shells on 1 sheet\.$/);
  const first = JSON.parse((await download(page, () => page.getByRole("button", { name: "Lay as data" }).click())).bytes);
  assert.ok(first.pieces >= 3 && first.rounds > 0);
  await page.getByRole("button", { name: "Go on from here" }).click();
  await page.waitForFunction((rounds) => Number(/search(\d+)/.exec(document.querySelector(".lay-figures")?.textContent ?? "")?.[1]) > rounds, first.rounds);
  await page.getByRole("button", { name: "Stop" }).click();
  await lay(page, "stands");
  const more = JSON.parse((await download(page, () => page.getByRole("button", { name: "Lay as data" }).click())).bytes);
  assert.ok(more.rounds > first.rounds && more.pieces >= first.pieces);

  // another job on the bench: the lay is let go, and that is said
  await page.getByRole("button", { name: "Start a tenor" }).click();
  await page.waitForFunction(() => document.querySelector(".lay-status").textContent.includes("let go"));
  await told(page);
  assert.match(await page.textContent("#blanks .says"), /DEMO-002/);
  assert.equal(await page.locator(".sheet-picture").count(), 0);
  noFaults(faults);
  await close();
});

test("files of a lay that is gone on with are of the lay as it stood, and the search goes on", async () => {
  const { page, faults, close } = await enterRoom();
  const data = async () => JSON.parse((await download(page, () => page.getByRole("button", { name: "Lay as data" }).click())).bytes);
  await page.selectOption("#blanks-seconds", "300");
  await page.getByRole("button", { name: "Lay the blanks" }).click();
  await page.waitForFunction(() => document.querySelectorAll(".sheet-picture .laid").length > 5);
  await page.getByRole("button", { name: "Stop" }).click();
  await lay(page, "stands");
  const stood = await data();
  await page.getByRole("button", { name: "Go on from here" }).click();
  await page.waitForFunction((rounds) => Number(/search(\d+)/.exec(document.querySelector(".lay-figures")?.textContent ?? "")?.[1]) > rounds, stood.rounds);
  assert.deepEqual(await data(), stood);
  assert.equal(await page.evaluate(() => document.querySelector("[data-lay]").dataset.lay), "running");
  await page.getByRole("button", { name: "Stop" }).click();
  await lay(page, "stands");
  assert.ok((await data()).rounds > stood.rounds);
  noFaults(faults);
  await close();
});

test("a sheet is called by its size until it gets a name, and an off-cut begins as the sheet that was there", async () => {
  const { page, faults, close } = await enterRoom();
  await field(page, "metal.width_mm").fill("200");
  assert.equal(await field(page, "name").inputValue(), "sheet 200 x 610 mm");
  await page.locator('[name="blanks-stock"][value="offcut"]').check();
  assert.equal(await field(page, "metal.border").inputValue(), "0 0\n610 0\n610 200\n0 200");
  assert.equal(await field(page, "metal.holes").inputValue(), "");
  assert.equal(await field(page, "name").inputValue(), "off-cut");
  await told(page);
  await page.locator('[name="blanks-stock"][value="sheet"]').check();
  await field(page, "name").fill("under the bench");
  await field(page, "metal.width_mm").fill("210");
  assert.equal(await field(page, "name").inputValue(), "under the bench");
  noFaults(faults);
  await close();
});

test("what is wrong is told at its field in words, and nothing is lost by it", async () => {
  const { page, faults, close } = await enterRoom();
  await field(page, "metal.length_mm").fill("100");
  await field(page, "metal.width_mm").fill("60");
  await page.waitForFunction(() => document.documentElement.dataset.blanks === "refused");
  assert.match(await page.textContent("#blanks .lay-status"), /One thing must be put right first/);
  const metal = page.locator("#blanks .fault:visible");
  assert.match(await metal.first().textContent(), /does not go on this sheet, whichever way it is turned/);
  assert.equal(await page.getByRole("button", { name: "Lay the blanks" }).isDisabled(), true);
  assert.equal(await page.locator(".blank-picture").count(), 1, "the last good blank stays in sight");
  await field(page, "halves").fill("0");
  await field(page, "spacing_mm").fill("-3");
  await page.waitForFunction(() => document.querySelector("#blanks-halves").getAttribute("aria-invalid") === "true");
  assert.match(await faultOf(page, "halves"), /1 to 200/);
  assert.match(await faultOf(page, "spacing_mm"), /0 to 50/);
  await field(page, "margin_mm").fill("five");
  assert.match(await faultOf(page, "margin_mm"), /“five” is not a number/);
  for (const [path, value] of [["metal.length_mm", "610"], ["metal.width_mm", "305"], ["halves", "3"], ["spacing_mm", "0"], ["margin_mm", "5"]]) await field(page, path).fill(value);
  await told(page);
  assert.equal(await page.locator("#blanks .fault:visible").count(), 0);
  await page.waitForFunction(() => document.querySelector("[data-lay]").textContent.includes("Spacing is 0: blanks may touch"));

  // an off-cut that crosses itself, a line that is no corner
  await page.locator('#blanks [name="blanks-stock"][value="offcut"]').check();
  await told(page);
  const border = await field(page, "metal.border").inputValue();
  const corners = border.split("\n");
  await field(page, "metal.border").fill([corners[1], corners[0], ...corners.slice(2)].join("\n"));
  await page.waitForFunction(() => /crosses or touches/.test(document.querySelector("#blanks-metal-border-fault").textContent));
  await field(page, "metal.border").fill(`${border}\n12 apples`);
  assert.match(await faultOf(page, "metal.border"), /Line 5, “12 apples”, is not two numbers/);
  await field(page, "metal.border").fill(border);
  await told(page);
  // the sheet comes back with its own sizes
  await page.locator('#blanks [name="blanks-stock"][value="sheet"]').check();
  assert.equal(await field(page, "metal.length_mm").inputValue(), "610");
  await told(page);

  await page.locator("#blanks-seed").fill("-1");
  assert.match(await page.textContent("#blanks-seed-fault"), /whole numbers from 0/);
  assert.equal(await page.getByRole("button", { name: "Lay the blanks" }).isDisabled(), true);
  await page.locator("#blanks-seed").fill("7");

  // what was chosen is there after a reload
  await page.reload();
  await told(page);
  await page.waitForFunction(() => document.querySelector("#blanks-halves")?.value === "3");
  assert.equal(await page.inputValue("#blanks-seed"), "7");
  noFaults(faults);
  await close();
});

test("a sheet file is opened and dropped; what is none is refused and changes nothing", async () => {
  const { page, faults, close } = await enterRoom();
  const open = async (buffer, name = "sheet.json") => {
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.getByRole("button", { name: "Open a sheet file" }).click()]);
    await chooser.setFiles({ name, mimeType: "application/json", buffer: Buffer.from(buffer) });
  };
  await open("{");
  await page.waitForFunction(() => /was not opened/.test(document.querySelector("#blanks [role=alert]").textContent));
  // a file that is far too large is refused by its size: it is not read at all
  await page.evaluate(() => {
    window.texts = 0;
    const text = Blob.prototype.text;
    Blob.prototype.text = function () {
      window.texts += 1;
      return text.call(this);
    };
  });
  await open(" ".repeat(600_000));
  await page.waitForFunction(() => /far larger than a sheet file/.test(document.querySelector("#blanks [role=alert]").textContent));
  assert.equal(await page.evaluate(() => window.texts), 0);
  await open(JSON.stringify({ format: "neckwright-job/1" }));
  assert.equal(await field(page, "metal.length_mm").inputValue(), "610");
  await open(readFileSync(join(ROOT, "examples", "sheets", "offcut.json")));
  await field(page, "metal.border").waitFor();
  assert.equal((await field(page, "metal.border").inputValue()).split("\n")[2], "420 180");
  assert.equal((await field(page, "metal.holes").inputValue()).split("\n").length, 4);
  await told(page);
  // the file of the sheet is the sheet
  const saved = JSON.parse((await download(page, () => page.getByRole("button", { name: "Save the sheet" }).click())).bytes);
  assert.deepEqual(saved, JSON.parse(readFileSync(join(ROOT, "examples", "sheets", "offcut.json"))));

  const drop = (text) =>
    page.evaluate((content) => {
      const files = new DataTransfer();
      files.items.add(new File([content], "dropped.json", { type: "application/json" }));
      document.querySelector(".blanks-room").dispatchEvent(new DragEvent("drop", { dataTransfer: files, bubbles: true, cancelable: true }));
    }, text);
  await drop(readFileSync(join(ROOT, "examples", "sheets", "strip_300.json"), "utf8"));
  await field(page, "metal.strip_width_mm").waitFor();
  assert.equal(await page.inputValue("#blanks-wanted"), "shortest_strip");
  // hostile: the name of a sheet is text and nothing else
  await drop(JSON.stringify({ ...saved, name: "<img src=x onerror=alert(1)>" }));
  await field(page, "metal.border").waitFor();
  assert.equal(await page.locator("#blanks img").count(), 0);
  // a job that is dropped goes to the bench as anywhere
  await drop(readFileSync(join(ROOT, "examples", "jobs", "tenor.json"), "utf8"));
  await page.waitForFunction(() => /DEMO-002/.test(document.querySelector("#blanks .says").textContent));
  await told(page);
  noFaults(faults);
  await close();
});

test("several orders come from one sheet, and another metal is refused in words", async () => {
  const { page, faults, close } = await enterRoom();
  const alto = JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "alto.json")));
  const tenor = JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "tenor.json")));
  const add = async (job, name) => {
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.getByRole("button", { name: "Add a job file" }).click()]);
    await chooser.setFiles({ name, mimeType: "application/json", buffer: Buffer.from(JSON.stringify(job)) });
  };
  await field(page, "halves").fill("2");
  await add(tenor, "tenor.json");
  await page.waitForFunction(() => /Order 2 of this sheet: .*its metal and its thickness/.test(document.querySelector("#blanks").textContent));
  await page.getByRole("button", { name: "Remove tenor" }).click();
  await told(page);
  await add({ ...tenor, tube: alto.tube }, "tenor of the same sheet.json");
  await page.locator("#blanks-other-0").fill("0");
  await page.waitForFunction(() => /1 to 200/.test(document.querySelector("#blanks").textContent));
  await page.locator("#blanks-other-0").fill("2");
  await told(page);
  await page.getByRole("button", { name: "Lay the blanks" }).click();
  await page.waitForFunction(() => /All 4 half shells/.test(document.querySelector(".lay-status").textContent));
  await lay(page, "stands");
  assert.match(await page.textContent(".lay-figures"), /Order DEMO-001\s*2 of 2.*Order DEMO-002\s*2 of 2/);
  const letters = await page.$$eval(".sheet-picture .blank-text", (texts) => texts.map(({ textContent }) => textContent.slice(0, 1)).sort());
  assert.deepEqual(letters, ["A", "A", "B", "B"]);
  await page.selectOption("#blanks-shown-order", "1");
  assert.match(await page.textContent("#blanks-of-blank ~ div"), /DEMO-002/);
  noFaults(faults);
  await close();
});

test("by keyboard alone, from the fields to a lay and its file", async () => {
  const { page, faults, close } = await enterRoom();
  await page.getByRole("heading", { name: "Blanks", level: 2 }).focus();
  const reach = (selector) => tabTo(page, selector, 90);
  await reach('[data-path="halves"]');
  await page.keyboard.press("Control+a");
  await page.keyboard.type("3");
  await page.keyboard.press("ArrowDown");
  assert.equal(await page.inputValue("#blanks-halves"), "2");
  await told(page);
  await reach("#blanks-turn");
  await reach("[data-do=lay]");
  await page.keyboard.press("Enter");
  await lay(page, "stands");
  assert.match(await page.textContent(".lay-status"), /All 2 half shells/);
  assert.equal(await page.evaluate(() => document.activeElement.dataset.do), "lay", "the focus stays where it was");
  await reach('[data-file="lay.dxf"]');
  const { name } = await download(page, () => page.keyboard.press("Enter"));
  assert.equal(name, "DEMO-001-lay.dxf");
  noFaults(faults);
  await close();
});

test("inches: what is typed and told, with millimetres in the sheet", async () => {
  const { page, faults, close } = await enterRoom();
  await page.locator('#unit-switch input[value="in"]').check();
  assert.equal(await field(page, "metal.width_mm").inputValue(), "12.008");
  await field(page, "metal.width_mm").fill("12");
  await told(page);
  const saved = JSON.parse((await download(page, () => page.getByRole("button", { name: "Save the sheet" }).click())).bytes);
  assert.equal(saved.metal.width_mm, 304.8);
  assert.match(await page.textContent("#blanks .cost-words"), /at station 5\.647 in/);
  // Truth: the first gauge of the sheet stands at 50 mm
  assert.match(await page.textContent(".gauge-list li span"), /^station 1\.969 in, outside radius 0\.\d+ in$/);
  noFaults(faults);
  await close();
});

for (const [name, options] of [
  ["a desk", { viewport: { width: 1440, height: 900 } }],
  ["a desk under a lamp", { viewport: { width: 1440, height: 900 }, colorScheme: "dark" }],
  ["a phone", { viewport: { width: 320, height: 640 }, hasTouch: true, isMobile: true }],
]) {
  test(`on ${name} nothing is cut off, and an independent checker finds nothing`, async () => {
    const { page, faults, close } = await enterRoom(options);
    await field(page, "halves").fill("4");
    await told(page);
    const go = page.getByRole("button", { name: "Lay the blanks" });
    if (options.hasTouch) await go.tap();
    else await go.click();
    await lay(page, "stands");
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), true);
    if (options.hasTouch) {
      const low = await page.$$eval("#blanks button, #blanks select, #blanks input:not([type=radio]):not([hidden])", (all) => all.filter((one) => one.checkVisibility()).map((one) => [one.id || one.textContent, one.getBoundingClientRect().height]).filter(([, height]) => height < 43.5));
      assert.deepEqual(low, []);
    }
    await noViolations(page, name);
    await field(page, "halves").fill("0");
    await page.waitForFunction(() => document.documentElement.dataset.blanks === "refused");
    await noViolations(page, `${name}, refused`);
    noFaults(faults);
    await close();
  });
}
