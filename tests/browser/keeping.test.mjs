// What the maker does is not lost: changes taken back and done again, kept in the browser through reload, crash and a closed
// tab, and told when it cannot be.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, readlinkSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { chromium as playwright } from "playwright-core";
import { CHROMIUM_FLAGS } from "../../web/scripts/setup.mjs";
import { DESK, enter, noFaults, openCard, openPage, ROOT, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const clash = join(ROOT, "examples", "jobs", "alto_clash.json");
const alto = JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "alto.json"), "utf8"));
const field = (page, path) => page.locator(`#card [data-path="${path}"]`);
const said = (page) => page.textContent("#step-said");
const back = (page) => page.getByRole("button", { name: "Take back" });
const again = (page) => page.getByRole("button", { name: "Do again" });
/** Types a number and leaves the field. */
async function settle(page, path, value) {
  await enter(page, path, value);
  await field(page, path).press("Enter");
}
/** Everything that was done is kept. */
const kept = (page) =>
  page.waitForFunction(() => document.documentElement.dataset.kept === "all" && /^Kept in this browser/.test(document.querySelector(".step-kept").textContent));
/** The job as the page would write it. */
async function reopened(page) {
  await page.waitForFunction(() => document.documentElement.dataset.work === "idle" && document.querySelector("#card .field, #card .section") !== null);
  await settled(page);
}

test("every change is taken back to the very start, told in words, and done again", async () => {
  const { page, faults, close } = await openPage(chromium);
  assert.equal(await back(page).count(), 0, "nothing is chosen yet");
  await page.click("text=Go on with this alto");
  await openCard(page, "brace");
  assert.equal(await back(page).getAttribute("aria-disabled"), "true", "nothing to take back yet");
  await settle(page, "brace.from_station_mm", "84");
  assert.equal(await said(page), "Brace begins at 84.0 mm, was 72.0");
  await settle(page, "brace.width_mm", "5.5");
  await page.selectOption('#card [data-path="brace.form"]', "bridge");
  await settled(page);
  assert.match(await said(page), /^Brace form /);
  await page.setInputFiles('input[type="file"]', clash);
  await page.waitForSelector('#list .pair.fails[data-row="saddle|badge"]');
  assert.equal(await said(page), "alto_clash.json was opened");

  await page.keyboard.press("Escape");
  await page.locator("#canvas").focus();
  await page.keyboard.press("Control+z");
  await settled(page);
  assert.equal(await said(page), "Taken back: alto_clash.json was opened");
  assert.equal(await page.locator('#list [data-row="saddle|badge"]').count(), 0, "the neck before it stands again");
  assert.equal(await field(page, "brace.form").inputValue(), "bridge");
  await page.keyboard.press("Control+z");
  await page.keyboard.press("Control+z");
  await back(page).click();
  await settled(page);
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "72");
  assert.equal(await said(page), "Taken back: Brace begins at 84.0 mm, was 72.0");
  assert.equal(await back(page).getAttribute("aria-disabled"), "true", "at the very start");
  await back(page).press("Enter");
  assert.equal(await field(page, "brace.width_mm").inputValue(), String(alto.brace.width_mm));

  await page.locator("#canvas").focus();
  await page.keyboard.press("Control+y");
  await page.keyboard.press("Control+Shift+Z");
  await settled(page);
  assert.equal(await said(page), `Done again: Brace is wide 5.5 mm, was ${alto.brace.width_mm}.0`);
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "84");
  // a new change ends what could be done again
  await settle(page, "brace.width_mm", "5");
  assert.equal(await again(page).getAttribute("aria-disabled"), "true");
  // and is read in the unit of the page
  await page.getByRole("radio", { name: "inch" }).click();
  assert.equal(await said(page), "Brace is wide 0.197 in, was 0.217");
  noFaults(faults);
  await close();
});

test("while a number is typed it is no change yet, and the keys in a field are the browser's own", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  const width = field(page, "brace.width_mm");
  await width.click();
  await width.press("End");
  await page.keyboard.type(".2");
  await settled(page);
  assert.equal(await said(page), "");
  await page.keyboard.press("Control+z");
  assert.notEqual(await width.inputValue(), "6.2", "the browser takes back what was typed");
  await width.fill("6.4");
  await width.press("Tab");
  assert.equal(await said(page), "Brace is wide 6.4 mm, was 6.0");
  // many presses of an arrow key are one change
  await width.press("ArrowUp");
  await width.press("ArrowUp");
  await width.press("Enter");
  assert.equal(await said(page), "Brace is wide 6.6 mm, was 6.4");
  await back(page).click();
  assert.equal(await width.inputValue(), "6.4");
  // what is being typed is what is taken back first, whatever is not a number included
  await width.fill("7");
  await back(page).click();
  assert.equal(await width.inputValue(), "6.4");
  await width.fill("wide");
  await back(page).click();
  assert.equal(await width.inputValue(), "6");
  noFaults(faults);
  await close();
});

test("a way out that is taken is one change", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.setInputFiles('input[type="file"]', clash);
  await page.waitForSelector('#list .pair.fails[data-row="saddle|badge"]');
  await settled(page);
  await page.click('#list [data-row="saddle|badge"]');
  await page.getByRole("button", { name: "Look for a way out" }).click();
  await page.locator("[data-way]").last().click();
  await settled(page);
  assert.match(await said(page), /^Move the .* by \d+\.\d\d mm$/);
  await back(page).click();
  await page.waitForSelector('#list .pair.fails[data-row="saddle|badge"]');
  noFaults(faults);
  await close();
});

test("a reload in the middle of an edit brings all of it back, and the way back", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await settle(page, "brace.from_station_mm", "84");
  await kept(page);
  await field(page, "brace.width_mm").fill("5.5");
  await page.reload();
  await reopened(page);
  assert.match(await page.textContent("#notice"), /^Job DEMO-001 was brought back as you left it\./);
  assert.equal(await page.isVisible("#start"), false);
  assert.equal(await page.textContent("#card-title"), "Brace");
  assert.equal(await field(page, "brace.width_mm").inputValue(), "5.5");
  assert.equal(await said(page), "Brace is wide 5.5 mm, was 6.0");
  await back(page).click();
  await back(page).click();
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "72");
  assert.equal(await back(page).getAttribute("aria-disabled"), "true");
  noFaults(faults);
  await close();
});

for (const [what, first] of [["a first change", false], ["a later one", true]]) {
  test(`${what} that the store had no time for is there after a reload`, async () => {
    const { page, faults, close } = await openPage(chromium);
    await openCard(page, "brace");
    if (first) {
      await settle(page, "brace.from_station_mm", "84");
      await kept(page);
    }
    await page.evaluate(() => {
      IDBObjectStore.prototype.put = () => {
        throw new DOMException("", "AbortError");
      };
    });
    await field(page, "brace.width_mm").fill("5.5");
    page.on("dialog", (dialog) => dialog.accept());
    await page.reload();
    await reopened(page);
    if (!first) await openCard(page, "brace");
    assert.equal(await field(page, "brace.width_mm").inputValue(), "5.5");
    assert.equal(await field(page, "brace.from_station_mm").inputValue(), first ? "84" : "72");
    assert.match(await page.textContent("#notice"), /was brought back/);
    // and is not brought up again once it is past
    await settle(page, "brace.width_mm", "5");
    await kept(page);
    await page.reload();
    await reopened(page);
    assert.equal(await field(page, "brace.width_mm").inputValue(), "5");
    noFaults(faults);
    await close();
  });
}

test("a tab that crashes, and one that is closed, lose nothing", async () => {
  const { page, close } = await openPage(chromium);
  const context = page.context();
  await openCard(page, "brace");
  await settle(page, "brace.from_station_mm", "84");
  await kept(page);
  const crashed = page.waitForEvent("crash");
  page.goto("chrome://crash").catch(() => undefined);
  await crashed;

  const next = await context.newPage();
  await next.goto(chromium.url);
  await reopened(next);
  assert.match(await next.textContent("#notice"), /was brought back/);
  assert.equal(await field(next, "brace.from_station_mm").inputValue(), "84");
  await settle(next, "brace.from_station_mm", "83");
  await kept(next);
  await next.close();

  const last = await context.newPage();
  await last.goto(chromium.url);
  await reopened(last);
  assert.equal(await field(last, "brace.from_station_mm").inputValue(), "83");
  await back(last).click();
  assert.equal(await field(last, "brace.from_station_mm").inputValue(), "84");
  await close();
});

test("what is told to be kept is there after the whole browser was killed", async () => {
  const profile = mkdtempSync(join(tmpdir(), "neckwright-profile-"));
  const launch = () => playwright.launchPersistentContext(profile, { executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: CHROMIUM_FLAGS, viewport: DESK, reducedMotion: "reduce" });
  try {
    let context = await launch();
    let page = await context.newPage();
    await page.goto(chromium.url);
    await settled(page);
    await openCard(page, "brace");
    await settle(page, "brace.from_station_mm", "84");
    await kept(page);
    const gone = new Promise((resolve) => context.once("close", resolve));
    // the browser names its own process in its profile
    process.kill(Number(readlinkSync(join(profile, "SingletonLock")).split("-").at(-1)), "SIGKILL");
    await gone;
    context = await launch();
    page = await context.newPage();
    await page.goto(chromium.url);
    await reopened(page);
    assert.equal(await field(page, "brace.from_station_mm").inputValue(), "84");
    await context.close();
  } finally {
    rmSync(profile, { recursive: true, force: true });
  }
});

test("two tabs: the second is told, each goes on with its own, and neither writes over the other", async () => {
  const { page: first, faults, close } = await openPage(chromium);
  await openCard(first, "brace");
  await settle(first, "brace.from_station_mm", "84");
  await kept(first);
  const second = await first.context().newPage();
  await second.goto(chromium.url);
  await reopened(second);
  assert.match(await second.textContent("#notice"), /^Job DEMO-001 is open in another tab too\. What lies here is a copy of its own/);
  assert.equal(await field(second, "brace.from_station_mm").inputValue(), "84");
  await settle(second, "brace.from_station_mm", "90");
  await kept(second);
  await settle(first, "brace.width_mm", "5.5");
  await kept(first);
  assert.equal(await field(first, "brace.from_station_mm").inputValue(), "84");

  for (const [page, from] of [[first, "84"], [second, "90"]]) {
    await page.reload();
    await reopened(page);
    assert.equal(await field(page, "brace.from_station_mm").inputValue(), from, "each finds its own again");
    await back(page).click();
    assert.equal(await field(page, "brace.from_station_mm").inputValue(), from === "90" ? "84" : "84");
    await again(page).click();
  }
  // the same order opened from a file: both tabs are told
  const order = { name: "order.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify({ ...alto, order: { ...alto.order, number: "N-7" } })) };
  await first.setInputFiles('input[type="file"]', order);
  await second.setInputFiles('input[type="file"]', order);
  await second.waitForFunction(() => /^Job N-7 is open in another tab too/.test(document.querySelector("#notice").textContent));
  await first.waitForFunction(() => /^Job N-7 was opened in another tab too/.test(document.querySelector("#notice").textContent));
  noFaults(faults);
  await close();
});

test("a tab that was doubled takes a record of its own", async () => {
  const { page: first, faults, close } = await openPage(chromium);
  await openCard(first, "brace");
  await settle(first, "brace.from_station_mm", "84");
  await kept(first);
  // a page opened by a page begins with a copy of its session
  const [second] = await Promise.all([first.context().waitForEvent("page"), first.evaluate(() => void window.open(location.href))]);
  await reopened(second);
  assert.match(await second.textContent("#notice"), /is open in another tab too/);
  await settle(second, "brace.from_station_mm", "90");
  await kept(second);
  await settle(first, "brace.width_mm", "5.5");
  await kept(first);
  await first.reload();
  await reopened(first);
  assert.equal(await field(first, "brace.from_station_mm").inputValue(), "84");
  noFaults(faults);
  await close();
});

test("the job of a second tab that was closed is found again beside the last one", async () => {
  const { page: first, faults, close } = await openPage(chromium);
  const context = first.context();
  await openCard(first, "brace");
  await settle(first, "brace.from_station_mm", "84");
  await kept(first);
  const second = await context.newPage();
  await second.goto(chromium.url);
  await reopened(second);
  await settle(second, "brace.from_station_mm", "90");
  await kept(second);
  await second.close();
  await settle(first, "brace.from_station_mm", "85");
  await kept(first);
  const keeper = await context.newPage();
  await first.close();
  // the browser gives its lock free
  await keeper.waitForTimeout(500);
  await keeper.goto(chromium.url);
  await reopened(keeper);
  assert.equal(await field(keeper, "brace.from_station_mm").inputValue(), "85", "the one that was changed last");
  assert.match(await keeper.textContent("#notice"), /What other tabs left stands under Variants\./);
  await keeper.getByRole("button", { name: "Variants" }).click();
  await keeper.getByRole("button", { name: "Lay it on the bench: Job DEMO-001" }).click();
  await settled(keeper);
  assert.equal(await field(keeper, "brace.from_station_mm").inputValue(), "90");
  await keeper.getByRole("button", { name: "Let it go: Job DEMO-001" }).click();
  await keeper.reload();
  await reopened(keeper);
  assert.doesNotMatch(await keeper.textContent("#notice"), /Variants/);
  noFaults(faults);
  await close();
});

/** Lays hands on the browser's store before the page loads. */
const refusing = {
  "that is full": () => {
    IDBObjectStore.prototype.put = () => {
      throw new DOMException("", "QuotaExceededError");
    };
  },
  "that is switched off": () => {
    indexedDB.open = () => {
      throw new DOMException("", "SecurityError");
    };
  },
  "that the browser has not": () => {
    Object.defineProperty(globalThis, "indexedDB", { value: undefined });
    Object.defineProperty(globalThis, "sessionStorage", {
      get: () => {
        throw new DOMException("", "SecurityError");
      },
    });
  },
};

for (const [how, refuse] of Object.entries(refusing)) {
  test(`a store ${how} is told in plain words, and the page works on`, async () => {
    const { page, faults, close } = await openPage(chromium, { before: (page) => page.addInitScript(refuse) });
    await openCard(page, "brace");
    await settle(page, "brace.from_station_mm", "84");
    await page.waitForFunction(() => document.querySelector(".step-fault").textContent !== "");
    assert.match(await page.textContent(".step-fault"), how === "that is full" ? /^Not kept since .*: the browser's storage is full\. The page works on; save the job as a file\.$/ : /^Not kept since .*: the browser lets this page keep nothing/);
    assert.doesNotMatch(await page.textContent(".step-kept"), /Kept/);
    assert.equal(await said(page), "Brace begins at 84.0 mm, was 72.0");
    await back(page).click();
    assert.equal(await field(page, "brace.from_station_mm").inputValue(), "72");
    await again(page).click();
    assert.equal(await page.evaluate(() => !dispatchEvent(new Event("beforeunload", { cancelable: true }))), true, "the browser asks before it is lost");
    noFaults(faults);
    await close();
  });
}

test("a store that fills up and empties again is told both times", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await settle(page, "brace.from_station_mm", "84");
  await kept(page);
  assert.equal(await page.evaluate(() => !dispatchEvent(new Event("beforeunload", { cancelable: true }))), false, "nothing would be lost");
  await page.evaluate(() => {
    window.put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = () => {
      throw new DOMException("", "QuotaExceededError");
    };
  });
  await settle(page, "brace.from_station_mm", "85");
  await page.waitForFunction(() => /storage is full/.test(document.querySelector(".step-fault").textContent));
  await page.evaluate(() => {
    IDBObjectStore.prototype.put = window.put;
  });
  await settle(page, "brace.from_station_mm", "86");
  await kept(page);
  assert.equal(await page.textContent(".step-fault"), "");
  await page.reload();
  await reopened(page);
  assert.equal(await field(page, "brace.from_station_mm").inputValue(), "86");
  noFaults(faults);
  await close();
});

/** Changes the one record of the page's store by hand. */
const spoil = (page, how) =>
  page.evaluate(async (how) => {
    const open = indexedDB.open(`neckwright ${new URL(".", location.href).pathname}`);
    await new Promise((resolve) => (open.onsuccess = resolve));
    const store = open.result.transaction("benches", "readwrite").objectStore("benches");
    const all = store.getAll();
    await new Promise((resolve) => (all.onsuccess = resolve));
    const [record] = all.result;
    if (how === "newer") record.format = "neckwright-bench/2";
    else record.steps = "none";
    await new Promise((resolve) => (store.put(record).onsuccess = resolve));
    open.result.close();
  }, how);

test("a record that cannot be read is told and set aside, and given out as a file", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await settle(page, "brace.from_station_mm", "84.25");
  await kept(page);
  const elsewhere = await page.context().newPage();
  await page.goto("about:blank");
  await elsewhere.goto(`${chromium.url}icon.svg`);
  await spoil(elsewhere, "broken");
  await page.goto(chromium.url);
  await settled(page);
  assert.match(await page.textContent("#broken"), /^A job that this browser kept cannot be read any more\. It is set aside, not thrown away\./);
  assert.ok(await page.isVisible("#start"), "and the page begins anew");
  const [file] = await Promise.all([page.waitForEvent("download"), page.click("text=Save it as a file")]);
  const chunks = [];
  for await (const chunk of await file.createReadStream()) chunks.push(chunk);
  assert.equal(JSON.parse(Buffer.concat(chunks)).draft.brace.from_station_mm, 84.25, "all of it is there");
  await page.reload();
  await settled(page);
  assert.ok(await page.isVisible("#broken"), "until it is let go");
  await page.click("text=Let go of it");
  await page.reload();
  await settled(page);
  assert.equal(await page.isVisible("#broken"), false);
  noFaults(faults);
  await close();
});

test("a record of a newer page is left as it is", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await settle(page, "brace.from_station_mm", "84.25");
  await kept(page);
  const elsewhere = await page.context().newPage();
  await page.goto("about:blank");
  await elsewhere.goto(`${chromium.url}icon.svg`);
  await spoil(elsewhere, "newer");
  await page.goto(chromium.url);
  await settled(page);
  await openCard(page, "brace");
  await settle(page, "brace.from_station_mm", "80");
  await kept(page);
  const formats = await page.evaluate(async () => {
    const open = indexedDB.open(`neckwright ${new URL(".", location.href).pathname}`);
    await new Promise((resolve) => (open.onsuccess = resolve));
    const all = open.result.transaction("benches").objectStore("benches").getAll();
    await new Promise((resolve) => (all.onsuccess = resolve));
    return all.result.map(({ format, draft }) => [format, draft.brace.from_station_mm]);
  });
  assert.deepEqual(formats.sort(), [["neckwright-bench/1", 80], ["neckwright-bench/2", 84.25]]);
  noFaults(faults);
  await close();
});

test("a first visit begins with one key, the alto behind it", async () => {
  const { page, faults, close } = await openPage(chromium);
  assert.ok(await page.isVisible("#start"));
  assert.match(await page.textContent("#start"), /starting values.*measured on the horn/);
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Go on with this alto");
  await page.keyboard.press("Enter");
  assert.equal(await page.isVisible("#start"), false);
  assert.match(await page.textContent("#job-line"), /Alto/);
  await kept(page);
  await page.reload();
  await reopened(page);
  assert.equal(await page.isVisible("#start"), false, "it was a choice, and it stands");
  noFaults(faults);
  await close();

  const tenor = await openPage(chromium);
  await tenor.page.locator("#start").getByRole("button", { name: "A tenor" }).click();
  await settled(tenor.page);
  assert.match(await tenor.page.textContent("#job-line"), /Tenor/);
  await kept(tenor.page);
  await tenor.page.reload();
  await reopened(tenor.page);
  assert.match(await tenor.page.textContent("#job-line"), /Tenor/);
  assert.equal(await tenor.page.isVisible("#start"), false);
  noFaults(tenor.faults);
  await tenor.close();
});
