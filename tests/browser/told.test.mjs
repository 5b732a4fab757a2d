// What is told stays in sight, agrees with itself, and lies over nothing else.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { finger, placeOf, rests } from "./hands.mjs";
import { DESK, download, enter, noFaults, openCard, openMenu, openPage, PHONE, ROOT, rows, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const job = (name) => JSON.parse(readFileSync(join(ROOT, "examples", "jobs", `${name}.json`), "utf8"));
const file = (content, name = "job.json") => ({ name, mimeType: "application/json", buffer: Buffer.from(JSON.stringify(content)) });
const SMALL = { width: 320, height: 640 };
const touch = (viewport) => ({ viewport, hasTouch: true, isMobile: true });
const field = (page, path) => page.locator(`#card [data-path="${path}"]`);

async function openClash(options) {
  const opened = await openPage(chromium, options);
  await opened.page.setInputFiles('input[type="file"]', join(ROOT, "examples", "jobs", "alto_clash.json"));
  await opened.page.waitForSelector('#list .pair.fails[data-row="saddle|badge"]', { state: "attached" });
  await settled(opened.page);
  return opened;
}

/** Pairs of written things that lie over one another, and what leaves its room. */
async function writtenOver(page, words, room) {
  return page.evaluate(
    ([what, where]) => {
      const all = [...document.querySelectorAll(what)].filter((element) => element.textContent !== "" && element.getClientRects().length > 0).map((element) => ({ text: element.textContent, box: element.getBoundingClientRect() }));
      const edge = document.querySelector(where).getBoundingClientRect();
      const out = all.filter(({ box }) => box.left < edge.left - 1 || box.right > edge.right + 1 || box.top < edge.top - 1 || box.bottom > edge.bottom + 1).map(({ text }) => `${text} leaves its room`);
      const over = all.flatMap((one, at) => all.slice(at + 1).flatMap((other) => {
        const wide = Math.min(one.box.right, other.box.right) - Math.max(one.box.left, other.box.left);
        const high = Math.min(one.box.bottom, other.box.bottom) - Math.max(one.box.top, other.box.top);
        // letters are lower than their lines
        return wide > 2 && high > 5 ? [`${one.text} over ${other.text}`] : [];
      }));
      return [...out, ...over];
    },
    [words, room],
  );
}

const cross = (a, b) => Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x) > 1 && Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y) > 1;

test("a list that is scrolled goes to a pair that begins to fail", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "limits");
  await field(page, "limits.least_clearance_mm").focus();
  await page.$eval("#list", (list) => (list.scrollTop = 400));
  await enter(page, "limits.least_clearance_mm", "0.29");
  assert.ok((await page.$eval("#list", (list) => list.scrollTop)) > 300, "nothing new fails, and it stays");
  await enter(page, "limits.least_clearance_mm", "0.45");
  await page.waitForSelector("#list .pair.fails", { state: "attached" });
  assert.equal(await page.$eval("#list", (list) => list.scrollTop), 0);
  noFaults(faults);
  await close();
});

test("what is least of what the key moves is told as that", async () => {
  const { page, faults, close } = await openPage(chromium);
  assert.match(await page.textContent("#key-least"), /^Key’s least \d+\.\d\d mm at \d+\.\d\d°, /);
  noFaults(faults);
  await close();
});

test("the help beside a field and the foot of the card say the same, of the same field", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await field(page, "brace.thickness_mm").focus();
  for (const name of ["Width", "Form"]) {
    await page.getByRole("button", { name: `What ${name} measures` }).click();
    const asked = await page.textContent(".asked:not([hidden]) p");
    assert.equal(await page.textContent("#card > .help"), `${name}${asked}`);
  }
  await page.locator("#field-brace-form").selectOption("bridge");
  await settled(page);
  await page.getByRole("button", { name: "What Form measures" }).click();
  await page.getByRole("button", { name: "What Form measures" }).click();
  assert.equal(await page.textContent("#card > .help"), `Form${await page.textContent(".asked:not([hidden]) p")}`);
  noFaults(faults);
  await close();
});

test("a field says how far it may go on this neck, and up to there it may", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await field(page, "brace.from_station_mm").focus();
  await page.waitForFunction(() => /^10 to 500\nhere /.test(document.querySelector("#field-brace-from_station_mm").closest(".field").querySelector(".range").textContent));
  const most = Number(/ to (\d+\.\d)$/.exec(await page.locator(".field:has(#field-brace-from_station_mm) .range").textContent())[1]);
  // five millimetres before its end, as the rule has it
  assert.ok(most <= job("alto").brace.to_station_mm - 5 && most > job("alto").brace.to_station_mm - 5.3, `${most}`);
  assert.match(await page.textContent("#card > .help"), /From 10 to 500 mm\. On this neck, with all else as it is, \d+\.\d to 14\d\.\d\.$/);
  await enter(page, "brace.from_station_mm", String(most));
  assert.equal(await page.isVisible("#faults"), false);
  await enter(page, "brace.from_station_mm", String(most + 0.4));
  assert.ok(await page.isVisible("#faults"));
  noFaults(faults);
  await close();
});

for (const [size, options] of [["desk", { viewport: DESK }], ["phone", touch(PHONE)], ["320 px", touch(SMALL)]]) {
  test(`while a clash is looked at every tool of the view stays, and nothing lies over another (${size})`, async () => {
    const { page, faults, close } = await openClash(options);
    assert.match(await page.textContent("#first-clash"), /^2 pairs not within limits: 0\.60 mm overlap, saddle to badge$/);
    const shown = await page.locator("#first-clash").boundingBox();
    assert.ok(shown.y + shown.height <= options.viewport.height, "a clash is told on the first screen");
    await page.click("#first-clash");
    await page.waitForSelector(".ink-gap", { state: "attached" });
    const place = await page.locator("#view-place").boundingBox();
    for (const tool of [page.getByLabel("Laid flat", { exact: true }), page.getByRole("button", { name: "Whole neck", exact: true }), ...(size === "desk" ? [page.getByLabel("Names", { exact: true })] : [])]) {
      assert.ok(await tool.isVisible());
      assert.ok(!cross(await tool.boundingBox(), place));
    }
    if (size !== "desk") {
      const canvas = await page.locator("#canvas").boundingBox();
      for (const above of ["#view-tools", ".view-says"]) assert.ok(!cross(await page.locator(above).boundingBox(), canvas), `${above} does not lie over the neck`);
    }
    await page.getByRole("button", { name: "Leave this place" }).click();
    await openCard(page, "badge");
    await page.waitForFunction(() => /it would from .* to /.test(document.querySelector("#placing").textContent));
    await page.waitForTimeout(400);
    assert.deepEqual(await writtenOver(page, ".ink-stretch-text, .ink-name, .ink-measure-text", "#view"), []);
    const told = await page.locator(".placing-told").evaluate((element) => [element.scrollHeight, element.clientHeight, getComputedStyle(element).overflowY]);
    assert.ok(told[2] === "visible" && told[0] <= told[1] + 1, `the sentence is whole: ${told}`);
    // the card's heading is in sight after its name was touched
    const [title, hold] = [await page.locator("#card-title").boundingBox(), await page.locator("#view-hold").boundingBox()];
    if (size !== "desk") assert.ok(title.y >= hold.y + hold.height - 1 && title.y < options.viewport.height - 20, `heading at ${title.y}, the neck ends at ${hold.y + hold.height}`);
    noFaults(faults);
    await close();
  });
}

test("the words of a part that is dragged by a finger stay in the picture", async () => {
  const { page, faults, close } = await openClash(touch(PHONE));
  await page.locator("#canvas").focus();
  await page.keyboard.press("t");
  await page.waitForTimeout(300);
  await page.evaluate(() => scrollTo(0, document.querySelector("#view-hold").offsetTop));
  const at = await placeOf(page, "badge");
  const hand = await finger(page);
  await hand.down(at.x, at.y);
  for (const by of [8, 20, 40, 60]) {
    await hand.move(at.x + by, at.y - by * 0.5);
    await rests(page);
    await page.waitForTimeout(60);
    assert.match(await page.textContent(".ink-held"), /mm, \d+\.\d° left/);
    assert.deepEqual(await writtenOver(page, ".ink-stretch-text, .ink-held, .ink-name", "#view"), []);
  }
  await hand.up();
  await settled(page);
  noFaults(faults);
  await close();
});

test("the range of a part that is cut away is not drawn in the air", async () => {
  const { page, faults, close } = await openClash();
  await openCard(page, "badge");
  await page.waitForFunction(() => document.querySelectorAll(".ink-stretch").length === 2);
  await page.click('[aria-controls="looking"]');
  await page.locator('input[name="cut"][value="bend"]').check({ force: true });
  // the badge is on the player's left, which the cut leaves
  await page.waitForTimeout(300);
  assert.equal(await page.locator(".ink-stretch").count(), 2);
  await page.click("text=Take away the other half");
  await page.waitForFunction(() => document.querySelectorAll(".ink-stretch, .ink-stretch-text").length === 0);
  noFaults(faults);
  await close();
});

test("a part on the far side is turned to the eye when it is chosen", async () => {
  const { page, faults, close } = await openPage(chromium);
  const clash = job("alto_clash");
  clash.badge.azimuth_deg = 100;
  clash.badge.station_mm = 60;
  await page.setInputFiles('input[type="file"]', file(clash));
  await page.waitForSelector('[data-part="badge"]', { state: "attached" });
  await settled(page);
  await assert.rejects(placeOf(page, "badge"), /nowhere in the view/);
  await openCard(page, "badge");
  await page.waitForTimeout(300);
  await placeOf(page, "badge");
  noFaults(faults);
  await close();
});

test("a link to the very job that lies here puts nothing aside", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await enter(page, "brace.width_mm", "5.5");
  await page.getByRole("button", { name: "Copy a link" }).click();
  await page.waitForSelector("#link:not([hidden])");
  const address = await page.locator("#link input").inputValue();
  await page.evaluate((hash) => (location.hash = hash), new URL(address).hash);
  await page.waitForFunction(() => /lies here already/.test(document.querySelector("#notice").textContent));
  assert.equal(await page.isVisible("#aside"), false);
  assert.equal(await page.textContent(".step-said"), "Brace is wide 5.5 mm, was 6.0");
  noFaults(faults);
  await close();
});

test("a way out that leaves a pair tight by hand says so when it is taken", async () => {
  const { page, faults, close } = await openClash();
  await page.click('#list [data-row="saddle|badge"]');
  await page.getByRole("button", { name: "Look for a way out" }).click();
  await page.locator("[data-way]").first().click();
  await page.waitForFunction(() => /tight by hand/.test(document.querySelector("#notice").textContent));
  const row = (await rows(page)).find(({ key }) => key === "saddle|badge");
  assert.equal(row.word, "by hand tight");
  assert.ok((await page.textContent("#notice")).includes(`Saddle to badge then has ${row.gap}, which is tight by hand`));
  noFaults(faults);
  await close();
});

test("by keyboard a clash is near: one stop in the view, and one press past everything before the list", async () => {
  const { page, faults, close } = await openClash();
  await page.reload();
  await settled(page);
  await page.waitForSelector("#first-clash:not([hidden])");
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Skip to the clearances, what fails first");
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.dataset.row), "saddle|badge");
  await page.reload();
  await settled(page);
  await page.waitForSelector("#first-clash:not([hidden])");
  let stops = 0;
  do {
    await page.keyboard.press("Tab");
    stops += 1;
  } while (stops < 70 && (await page.evaluate(() => document.activeElement.id)) !== "first-clash");
  assert.ok(stops <= 20, `${stops} stops`);
  await page.keyboard.press("Enter");
  assert.match(await page.textContent("#view-place"), /saddle to badge/);
  noFaults(faults);
  await close();
});

test("on a phone what concerns the whole job stands behind one button, and nothing runs off", async () => {
  const { page, faults, close } = await openPage(chromium, touch(SMALL));
  assert.equal(await page.getByRole("button", { name: "Save the job" }).isVisible(), false);
  await openMenu(page);
  for (const button of await page.locator("#job-actions button").all()) {
    const box = await button.boundingBox();
    assert.ok(box.x >= 0 && box.x + box.width <= SMALL.width && box.height >= 44);
  }
  const { name } = await download(page, () => page.click("text=Save the job"));
  assert.match(name, /\.json$/);
  noFaults(faults);
  await close();
});

test("numbers are shown as a maker reads them, and kept as they were given", async () => {
  const { page, faults, close } = await openPage(chromium);
  const clash = job("alto_clash");
  clash.badge.azimuth_deg = 38.5671;
  await page.setInputFiles('input[type="file"]', file(clash));
  await page.waitForSelector('[data-part="badge"]', { state: "attached" });
  await settled(page);
  await openCard(page, "badge");
  assert.equal(await field(page, "badge.azimuth_deg").inputValue(), "38.57");
  await field(page, "badge.azimuth_deg").focus();
  await field(page, "badge.azimuth_deg").blur();
  const { bytes } = await download(page, () => page.click("text=Save the job"));
  assert.equal(JSON.parse(bytes.toString("utf8")).badge.azimuth_deg, 38.5671);
  noFaults(faults);
  await close();
});
