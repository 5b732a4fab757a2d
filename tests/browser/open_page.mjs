// A real Chromium on the built page. Each test gets a page of its own; whatever the page logs as an error, or asks of any
// other machine, fails the test.
import assert from "node:assert/strict";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { DIST, ROOT, WEB } from "../../web/scripts/paths.mjs";
import { serve } from "../../web/scripts/serve.mjs";
import { CHROMIUM_FLAGS } from "../../web/scripts/setup.mjs";

export { DIST, ROOT };

/** The page lies under a path of its own, as on a static host that has other pages too. */
const SUB_PATH = "/shop/neck/";

export const DESK = { width: 1440, height: 900 };
export const PHONE = { width: 390, height: 844 };

export async function startBrowser() {
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: CHROMIUM_FLAGS });
  const server = await serve({ [SUB_PATH]: DIST, "/examples/embed/": join(ROOT, "examples", "embed"), "/web/pkg/": join(WEB, "pkg") }, 0);
  return {
    browser,
    server,
    url: `${server.url}${SUB_PATH}`,
    async close() {
      await browser.close();
      await server.close();
    },
  };
}

/**
 * Opens the page and waits for the first neck. `before` may lay hands on the page before it loads. Returns the page with
 * `faults`: everything it complained of.
 */
export async function openPage({ browser, url, server }, { before, ready = true, path, ...options } = {}) {
  const context = await browser.newContext({ viewport: DESK, reducedMotion: "reduce", acceptDownloads: true, ...options });
  const page = await context.newPage();
  page.setDefaultTimeout(20_000);
  const faults = [];
  page.on("pageerror", (error) => faults.push(`error: ${error.message}`));
  page.on("console", (message) => {
    if (message.type() === "error") faults.push(`console: ${message.text()} (${message.location().url})`);
  });
  page.on("request", (request) => {
    const address = request.url();
    if (!address.startsWith(server.url) && !address.startsWith("blob:") && !address.startsWith("data:")) faults.push(`asks ${address}`);
  });
  await before?.(page);
  await page.goto(path === undefined ? url : `${server.url}${path}`);
  if (ready) await settled(page);
  return { page, faults, close: () => context.close() };
}

/** The core has answered the last change, its meshes are drawn and its parts measured. */
export async function settled(page) {
  await page.waitForFunction(
    () =>
      document.documentElement.dataset.work === "idle" &&
      document.querySelector("#view[data-chord-mm]") !== null &&
      document.querySelector(".twin tbody tr") !== null &&
      ![...document.querySelectorAll(".twin td, .figures dd")].some((cell) => cell.textContent === "…"),
  );
}

/** Opens the card of a part or of one of the general cards. */
export async function openCard(page, card) {
  await page.click(`[data-key="card-${card}"]`);
}

/** On a phone what concerns the whole job stands behind one button. */
export async function openMenu(page) {
  const menu = page.locator("#job-menu button");
  if ((await menu.isVisible()) && (await menu.getAttribute("aria-expanded")) === "false") await menu.click();
}

/** Types a value into the field of a parameter path and waits for the core's answer. */
export async function enter(page, path, value) {
  const field = page.locator(`#card [data-path="${path}"]`);
  await field.fill(value);
  await settled(page);
}

/** The rows of the list as they are read. */
export async function rows(page) {
  return page.$$eval("#list .pair", (pairs) =>
    pairs.map((pair) => ({
      key: pair.dataset.row,
      gap: pair.querySelector(".gap").textContent,
      names: pair.querySelector(".names").textContent,
      need: pair.querySelector(".need").textContent,
      poses: pair.querySelector(".poses").textContent,
      word: pair.querySelector(".word").textContent,
    })),
  );
}

/** The list of one angle has come, and it is the one the key stands at. */
export async function angleMeasured(page) {
  await page.waitForFunction(() => {
    const angle = /^With the key at (\d+\.\d\d°)/.exec(document.querySelector("#list-verdict").textContent)?.[1];
    const says = document.querySelector("#key-says").textContent;
    return angle !== undefined && (says.startsWith(`Key open by ${angle} `) || (angle === "0.00°" && says.startsWith("Key closed")));
  });
}

export function noFaults(faults) {
  assert.deepEqual(faults, []);
}

/** Starts a download by a click and returns its bytes. Where the click or the file does not come, tells which, and what the page says. */
export async function download(page, click) {
  const says = async (what, error) => {
    const told = await page.locator('[role="status"], [role="alert"]').allTextContents();
    throw new Error(`${what}; the page says: ${told.filter((text) => text.trim() !== "").join(" | ")}`, { cause: error });
  };
  const coming = page.waitForEvent("download");
  const [clicked, came] = await Promise.allSettled([click(), coming]);
  if (clicked.status === "rejected") await says("It could not be clicked", clicked.reason);
  if (came.status === "rejected") await says("No file came", came.reason);
  const file = came.value;
  // Chromium lets a page hand out ten files in a second, and drops the next without a word: no maker is so quick
  await page.waitForTimeout(110);
  const chunks = [];
  for await (const chunk of await file.createReadStream()) chunks.push(chunk);
  return { name: file.suggestedFilename(), bytes: Buffer.concat(chunks) };
}

/** A picture of the page read by the page's own decoder: its pixels, as a handle on an ImageData. */
export function pixelsOf(page, png) {
  return page.evaluateHandle(async (data) => {
    const image = new Image();
    image.src = `data:image/png;base64,${data}`;
    await image.decode();
    const canvas = new OffscreenCanvas(image.width, image.height);
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0);
    return context.getImageData(0, 0, image.width, image.height);
  }, png.toString("base64"));
}

/** Share of the view's pixels that differ between two pictures of it. */
export async function difference(page, before, after) {
  return page.evaluate(
    ([{ data: one }, { data: two }]) => {
      let different = 0;
      for (let index = 0; index < one.length; index += 4) {
        if (Math.abs(one[index] - two[index]) + Math.abs(one[index + 1] - two[index + 1]) + Math.abs(one[index + 2] - two[index + 2]) > 24) different += 1;
      }
      return different / (one.length / 4);
    },
    [await pixelsOf(page, before), await pixelsOf(page, after)],
  );
}
