// A core that fails. The wasm served here is the real one, but for its first visitor the third job is a real trap: the
// exported function is wrapped, by the optimiser's own library, in one that counts and then executes `unreachable`.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { WASM_FILE } from "../../web/scripts/core.mjs";
import { PKG } from "../../web/scripts/paths.mjs";
import { enter, openCard, openPage, rows, settled, startBrowser } from "./open_page.mjs";
import { trapAt } from "./trapping.mjs";

let chromium;
let trapping;
before(async () => {
  chromium = await startBrowser();
  trapping = trapAt(readFileSync(join(PKG, WASM_FILE)), "neck_parts", 3);
});
after(() => chromium.close());

/** Serves the trapping core to the first `times` workers. */
const failing = (times) => async (page) => {
  let served = 0;
  await page.context().route("**/*.wasm", async (route) => {
    served += 1;
    if (served <= times) await route.fulfill({ body: trapping, contentType: "application/wasm" });
    else await route.continue();
  });
};

test("a trap is told, the worker starts again, and the job is kept", async () => {
  const { page, close } = await openPage(chromium, { before: failing(1) });
  await openCard(page, "brace");
  await enter(page, "brace.thickness_mm", "1.2");
  const list = await rows(page);
  const figures = () => page.textContent("#card .figures");
  const thin = await figures();
  await page.locator('#card [data-path="brace.thickness_mm"]').fill("1.4");
  await page.waitForFunction(() => /calculation broke off/.test(document.querySelector("#notice").textContent));
  assert.match(await page.textContent("#notice"), /It is started again and your job is kept/);
  await settled(page);
  assert.equal(await page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.4");
  assert.notEqual(await figures(), thin, "the change that met the trap has been built after all");
  assert.equal(await page.isVisible("#faults:not(.warning)"), false);
  // and goes on working
  await enter(page, "brace.thickness_mm", "1.2");
  assert.equal(await figures(), thin);
  assert.deepEqual(await rows(page), list);
  await close();
});

/** The browser's store answers two seconds late: after the core has been given up. */
const lateStore = () => {
  const open = IDBFactory.prototype.open;
  IDBFactory.prototype.open = function (...given) {
    const request = open.apply(this, given);
    let late = false;
    request.addEventListener("success", (event) => {
      if (late) return;
      event.stopImmediatePropagation();
      late = true;
      setTimeout(() => request.dispatchEvent(new Event("success")), 2000);
    });
    return request;
  };
};

for (const [when, prepare] of [["", () => undefined], [", and it stays told when what was kept comes later", (page) => page.addInitScript(lateStore)]]) {
  test(`a core that never comes is told, the fields stay, and it can be started again${when}`, async () => {
    let broken = true;
    const { page, close } = await openPage(chromium, {
      ready: false,
      before: async (page) => {
        await prepare(page);
        await page.context().route("**/*.wasm", (route) => (broken ? route.fulfill({ status: 404, body: "" }) : route.continue()));
      },
    });
    await page.waitForFunction(() => document.documentElement.dataset.work === "stopped");
    await page.waitForFunction(() => document.querySelector("#job-line").textContent.includes("DEMO-001"));
    assert.match(await page.textContent("#notice"), /calculation breaks off/);
    broken = false;
    await page.click("text=Start the calculation again");
    await settled(page);
    assert.ok((await rows(page)).length > 0);
    await close();
  });
}
