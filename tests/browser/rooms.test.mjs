// The rooms of the shop: there and back by every way a browser has, with the bench as it was left.
import assert from "node:assert/strict";
import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { serve } from "../../web/scripts/serve.mjs";
import { DIST, enter, noFaults, openCard, openPage, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const door = (page, name) => page.getByRole("navigation", { name: "Rooms of the shop" }).getByRole("link", { name, exact: true });
const room = (page) => page.evaluate(() => document.documentElement.dataset.room ?? "bench");
const inRoom = (page) => page.waitForSelector("#send-out .order-part");

test("through the door and back, the bench is as it was left and nothing is drawn meanwhile", async () => {
  const asked = [];
  const { page, faults, close } = await openPage(chromium, {
    before: async (page) => {
      page.on("request", (request) => request.url().includes("/assets/") && asked.push(request.url().split("/assets/")[1]));
      await page.addInitScript(() => {
        window.drawn = 0;
        const { drawElements } = WebGL2RenderingContext.prototype;
        WebGL2RenderingContext.prototype.drawElements = function (...given) {
          window.drawn += 1;
          return drawElements.apply(this, given);
        };
      });
    },
  });
  await page.click("text=Go on with this alto");
  await openCard(page, "brace");
  await enter(page, "brace.width_mm", "5.5");
  await page.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });
  assert.ok(await page.evaluate(() => window.drawn > 0));
  assert.deepEqual(asked.filter((name) => /^(shop-|worker-shop|bore-|worker-bore|room-)/.test(name)), [], "nothing of the room is loaded before it is wanted");
  const workers = page.workers().length;
  assert.equal(await door(page, "Bench").getAttribute("aria-current"), "page");

  await door(page, "Send out").click();
  await inRoom(page);
  assert.equal(await page.title(), "Send out · Neckwright");
  assert.equal(new URL(page.url()).hash, "#send-out");
  assert.equal(await page.evaluate(() => document.activeElement.id), "send-out-title", "whoever sees nothing hears where the door led");
  assert.equal(await page.isVisible("#bench"), false);
  assert.equal(await door(page, "Send out").getAttribute("aria-current"), "page");
  assert.equal(await page.locator("main:visible").count(), 1);
  assert.equal(page.workers().length, workers + 1);
  await page.evaluate(() => {
    window.drawn = 0;
  });
  await page.keyboard.press("Control+z");
  await page.waitForFunction(() => document.querySelector("#step-said").textContent.startsWith("Taken back"));
  await settled(page);
  await page.waitForTimeout(400);
  assert.equal(await page.evaluate(() => window.drawn), 0, "the view is not drawn where nobody sees it");

  await page.goBack();
  await page.waitForSelector("#bench", { state: "visible" });
  assert.equal(await page.title(), "Neckwright");
  assert.equal(await page.inputValue('#card [data-path="brace.width_mm"]'), "6");
  await page.waitForFunction(() => window.drawn > 0);
  await page.goForward();
  await page.waitForSelector("#send-out", { state: "visible" });
  // by keyboard
  await door(page, "Send out").focus();
  await page.keyboard.press("Home");
  await page.keyboard.press("ArrowLeft");
  assert.equal(await page.evaluate(() => document.activeElement.textContent), "Bench");
  await page.keyboard.press("Enter");
  await page.waitForSelector("#bench", { state: "visible" });
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.querySelector("#bench").contains(document.activeElement)), true, "the next thing is on the bench");
  assert.equal(page.workers().length, workers + 1, "both workers go on");
  noFaults(faults);
  await close();
});

test("a room has an address, and a job link leads to the bench from there", async () => {
  const { page, faults, close } = await openPage(chromium, { path: "/shop/neck/#send-out", ready: false });
  await inRoom(page);
  assert.equal(await room(page), "send-out");
  await page.getByRole("button", { name: "Start a tenor" }).click();
  await page.waitForFunction(() => /Job DEMO-002|tenor/i.test(document.querySelector("#send-out-job").textContent));
  await page.getByRole("button", { name: "Copy a link" }).click();
  // it is packed before it stands there
  await page.waitForFunction(() => document.querySelector("#link input").value !== "");
  const link = await page.inputValue("#link input");
  assert.match(link, /\/shop\/neck\/#job=1\./);
  await page.reload();
  await inRoom(page);
  assert.equal(await room(page), "send-out", "a reload stays in the room");
  await page.getByRole("button", { name: "Start an alto" }).click();
  await page.evaluate((address) => {
    location.href = address;
  }, link);
  await page.waitForSelector("#bench", { state: "visible" });
  await settled(page);
  assert.match(await page.textContent("#job-line"), /Tenor/);
  // the view was made out of sight, and shows the whole neck all the same
  await page.waitForSelector('#view[data-chord-mm="0.02"]');
  const names = page.locator(".ink-name");
  await names.first().waitFor();
  assert.ok((await names.count()) > 10);
  noFaults(faults);
  await close();
});

test("a core that cannot be loaded is told, and loaded when asked again", async () => {
  let served = 0;
  const { page, close } = await openPage(chromium, {
    serviceWorkers: "block",
    before: (page) => page.route(/\/shop-[^/]*\.wasm$/, (route) => ((served += 1) === 1 ? route.abort() : route.continue())),
  });
  await door(page, "Send out").click();
  await page.waitForSelector("#send-out .trouble:not([hidden])");
  assert.match(await page.textContent("#send-out .trouble"), /could not be looked up/);
  await page.getByRole("button", { name: "Try again" }).click();
  await inRoom(page);
  await close();
});

test("without a network the room works that was never gone to before", async () => {
  const folder = mkdtempSync(join(tmpdir(), "neckwright-host-"));
  cpSync(DIST, folder, { recursive: true });
  const server = await serve({ "/": folder }, 0);
  const { page, faults, close } = await openPage({ browser: chromium.browser, server, url: `${server.url}/` });
  await page.click("text=Go on with this alto");
  await page.waitForFunction(() => document.querySelector(".step-offline").textContent.includes("works without a network"));
  await server.close();
  await page.reload();
  await settled(page);
  await door(page, "Send out").click();
  await inRoom(page);
  noFaults(faults);
  await close();
  rmSync(folder, { recursive: true, force: true });
});
