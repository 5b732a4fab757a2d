// The page without a network, and a newer page that is taken when it suits.
import assert from "node:assert/strict";
import { cpSync, mkdtempSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { serve } from "../../web/scripts/serve.mjs";
import { DIST, download, enter, noFaults, openCard, openPage, rows, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const ready = (page) => page.waitForFunction(() => document.querySelector(".step-offline").textContent.includes("works without a network"));

/** A copy of the built page on a server of its own, under two addresses, so that it can be changed and taken away. */
async function host() {
  const folder = mkdtempSync(join(tmpdir(), "neckwright-host-"));
  const page = join(folder, "page");
  cpSync(DIST, page, { recursive: true });
  const server = await serve({ "/a/b/": page, "/": page }, 0);
  let up = true;
  const down = async () => {
    if (up) await server.close();
    up = false;
  };
  return {
    page,
    server,
    down,
    async end() {
      await down();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** Opens the page of a host and waits for its first neck and until it needs the host no more. */
async function visit({ server }, path) {
  const opened = await openPage({ browser: chromium.browser, server, url: `${server.url}${path}` });
  await opened.page.click("text=Go on with this alto");
  await ready(opened.page);
  return opened;
}

for (const path of ["/", "/a/b/"]) {
  test(`after a first visit to ${path} everything works without a network`, async () => {
    const there = await host();
    const { page, faults, close } = await visit(there, path);
    await openCard(page, "brace");
    await enter(page, "brace.thickness_mm", "1.3");
    await there.down();
    await page.reload();
    await settled(page);
    await page.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });
    assert.equal((await rows(page)).length > 30, true);
    assert.equal(await page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.3");
    await enter(page, "brace.thickness_mm", "1.4");
    const step = await download(page, () => page.click("text=STEP of the whole neck"));
    assert.ok(step.bytes.subarray(0, 13).toString() === "ISO-10303-21;");
    // a new tab, and the page by the name of its file
    const other = await page.context().newPage();
    await other.goto(`${there.server.url}${path}index.html`);
    await settled(other);
    await other.close();
    noFaults(faults);
    await close();
    await there.end();
  });
}

/** Puts a page with other contents in the place of the one that is served: its main script has another name. */
function renew({ page }, title) {
  const assets = join(page, "assets");
  const main = readdirSync(assets).find((name) => name.startsWith("main-"));
  const next = `main-${title}.js`;
  renameSync(join(assets, main), join(assets, next));
  for (const name of ["index.html", "offline.js"]) {
    const file = join(page, name);
    writeFileSync(file, readFileSync(file, "utf8").replaceAll(main, next).replace("<title>Neckwright</title>", `<title>${title}</title>`).replace(/"([0-9a-f]{8})"/g, `"$1${title}"`));
  }
}

test("a newer page is told in words, waits, and is taken with the job kept", async () => {
  const there = await host();
  const { page, faults, close } = await visit(there, "/a/b/");
  await openCard(page, "brace");
  await enter(page, "brace.thickness_mm", "1.3");
  renew(there, "Newer");
  await page.reload();
  await settled(page);
  await page.waitForSelector("#newer:not([hidden])");
  assert.match(await page.textContent("#newer"), /^A new version of this page is there\. Your job stays as it is/);
  assert.equal(await page.title(), "Neckwright", "the one that was there goes on");
  await page.locator("#newer").getByRole("button", { name: "Later" }).click();
  assert.equal(await page.isVisible("#newer"), false);
  await page.reload();
  await settled(page);
  await page.waitForSelector("#newer:not([hidden])");
  const second = await page.context().newPage();
  await second.goto(`${there.server.url}/a/b/`);
  await settled(second);
  await second.bringToFront();

  // half typed when it is taken
  await page.bringToFront();
  await page.locator('#card [data-path="brace.thickness_mm"]').fill("1.7");
  await page.locator("#newer").getByRole("button", { name: "Take it now" }).click();
  await page.waitForFunction(() => document.title === "Newer");
  await settled(page);
  assert.equal(await page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.7");
  assert.equal(await page.isVisible("#newer"), false);
  // the other tab is told, and its own version still works
  await second.waitForFunction(() => /was taken in another tab/.test(document.querySelector("#notice").textContent));
  await there.down();
  await page.reload();
  await settled(page);
  assert.equal(await page.title(), "Newer");
  noFaults(faults);
  await close();
  await there.end();
});

test("a host that is half renewed leaves the page that works", async () => {
  const there = await host();
  const { page, faults, close } = await visit(there, "/");
  // a newer page is promised whose script is not there
  const offline = join(there.page, "offline.js");
  writeFileSync(offline, readFileSync(offline, "utf8").replaceAll(/main-[A-Z0-9]+\.js/g, "main-MISSING.js"));
  await page.reload();
  await settled(page);
  await page.waitForTimeout(1500);
  assert.equal(await page.isVisible("#newer"), false);
  await there.down();
  await page.reload();
  await settled(page);
  assert.ok((await rows(page)).length > 30);
  noFaults(faults.filter((fault) => !/offline\.js/.test(fault)));
  await close();
  await there.end();
});
