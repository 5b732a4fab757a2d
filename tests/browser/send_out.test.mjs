// What leaves the shop, from the page: chosen, looked at, refused where it is wrong, packed, and the same archive as by
// command.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { SHOP_WASM_FILE } from "../../web/scripts/core.mjs";
import { PKG } from "../../web/scripts/paths.mjs";
import { judged } from "./judge.mjs";
import { DESK, download, enter, noFaults, openCard, openMenu, openPage, PHONE, ROOT, settled, startBrowser } from "./open_page.mjs";
import { trapAt } from "./trapping.mjs";
import { scratchFolder } from "../scratch.mjs";


const folder = scratchFolder();
let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

/** The archive of the command, for a job in the examples. */
function command(job, options) {
  const out = join(folder, "out.zip");
  rmSync(out, { force: true });
  const ran = spawnSync("cargo", ["run", "--release", "--quiet", "--example", "send_out", "--", join(ROOT, "examples", "jobs", `${job}.json`), out, ...options], { cwd: ROOT, encoding: "utf8" });
  assert.equal(ran.status, 0, ran.stderr);
  return readFileSync(out);
}

/** Opens the room, with a job of the examples on the bench or the shipped alto. */
async function open({ job, ...options } = {}) {
  const opened = await openPage(chromium, options);
  const { page } = opened;
  if (job === undefined) await page.click("text=Go on with this alto");
  else {
    await openMenu(page);
    await page.locator('#job-actions input[type="file"]').setInputFiles(join(ROOT, "examples", "jobs", `${job}.json`));
    await page.waitForFunction((name) => document.querySelector("#notice").textContent.includes(name), `${job}.json`);
    await settled(page);
  }
  await page.getByRole("link", { name: "Send out" }).click();
  await page.waitForSelector("#send-out .order-part");
  return opened;
}

const field = (page, path) => page.locator(`#send-out [data-path="${path}"]`);
const faultOf = async (page, path) => {
  const control = field(page, path);
  await page.waitForFunction((name) => document.querySelector(`#send-out [data-path="${name}"]`).getAttribute("aria-invalid") === "true", path);
  const ids = (await control.getAttribute("aria-describedby")).split(" ");
  return page.textContent(`#${ids.at(-1)}`);
};
const noFault = (page, path) => page.waitForFunction((name) => !document.querySelector(`#send-out [data-path="${name}"]`).hasAttribute("aria-invalid"), path);
const says = (page, text) => page.waitForFunction((words) => document.querySelector(".packed-says").textContent.includes(words), text);
const pack = (page) => page.getByRole("button", { name: "Pack", exact: true }).click();
const saved = (page) => download(page, () => page.click('[data-key="save-package"]'));

test("the whole neck: the page's archive is the command's, byte for byte", async () => {
  for (const job of ["alto", "tenor"]) {
    const { page, faults, close } = await open({ job });
    await pack(page);
    await says(page, "Packed: look through the list");
    const list = await page.$$eval(".packing-list tbody tr", (rows) => rows.map((row) => row.querySelector("th").textContent));
    assert.deepEqual([list.length, list.includes("key arm"), list.at(-1)], [19, true, "whole neck"]);
    const { name, bytes } = await saved(page);
    assert.match(name, /^[\w-]+_shop_files\.zip$/);
    assert.ok(bytes.equals(command(job, [])), `${job}: ${bytes.length} bytes`);
    noFaults(faults);
    await close();
  }
});

test("a batch of some parts in other stock, drawn otherwise: the same archive as by command", async () => {
  const { page, faults, close } = await open({ job: "alto" });
  await page.getByRole("button", { name: "None", exact: true }).click();
  assert.match(await page.textContent(".order-room"), /Nothing is chosen/);
  for (const part of ["Brace", "Key arm", "Left half", "Tenon"]) await page.getByLabel(`Send: ${part}`, { exact: true }).check();
  await page.getByLabel("How many for one neck: Brace").fill("3");
  await page.getByRole("button", { name: "Other stock: Brace" }).click();
  await field(page, "brace.metal").selectOption("C51000");
  await field(page, "brace.thickness_mm").fill("1.2");
  await field(page, "brace.temper").selectOption("half_hard");
  await field(page, "necks").fill("2");
  await field(page, "step").selectOption("ap214");
  await field(page, "chord_mm").fill("0.05");
  await field(page, "drawing.projection").selectOption("third_angle");
  await field(page, "drawing.units").selectOption("both");
  await field(page, "drawing.paper").selectOption("letter");
  await field(page, "name").fill("spring batch");
  assert.match(await page.textContent("#order-title + .says"), /^4 parts, 12 pieces for 2 necks$/);
  await pack(page);
  await says(page, "Packed");
  const row = await page.locator(".packing-list tbody tr", { hasText: "brace" }).first().textContent();
  assert.match(row, /brace6phosphor bronze 5 % \(C51000\)half hard \(H02\)1\.2 mm/);
  const { name, bytes } = await saved(page);
  assert.equal(name, "spring batch_shop_files.zip");
  const options = ["--parts", "tenon,bracex3,key_arm,half_left", "--metal", "brace=C51000", "--thickness", "brace=1.2", "--temper", "brace=half_hard", "--necks", "2", "--step", "ap214", "--chord", "0.05"];
  assert.ok(bytes.equals(command("alto", [...options, "--projection", "third_angle", "--units", "both", "--paper", "letter", "--name", "spring batch"])));
  noFaults(faults);
  await close();
});

test("what is wrong is said at its field in the maker's words, all at once, and nothing is packed", async () => {
  const { page, faults, close } = await open();
  for (const [typed, told] of [
    ["0", /Allowed: .*1 to 10000/],
    ["-2", /Allowed: .*1 to 10000/],
    ["1.5", /Allowed: .*1 to 10000/],
    ["two", /Allowed: .*1 to 10000/],
    ["", /Allowed: .*1 to 10000/],
    ["100000", /Allowed: .*1 to 10000/],
  ]) {
    await field(page, "brace.quantity").fill(typed);
    assert.match(await faultOf(page, "brace.quantity"), told, typed);
  }
  // a metal that is not sold in that thickness
  await page.getByRole("button", { name: "Other stock: Saddle" }).click();
  await field(page, "saddle.metal").selectOption("C36000");
  assert.match(await faultOf(page, "saddle.metal"), /sheet of 3 to 50 mm.*not sold/);
  // a thickness no saddle can have
  await page.getByRole("button", { name: "Other stock: Key arm" }).click();
  await field(page, "key_arm.thickness_mm").fill("40");
  assert.match(await faultOf(page, "key_arm.thickness_mm"), /Allowed: .* mm/);
  await field(page, "name").fill("a/b");
  assert.match(await faultOf(page, "name"), /No file name may hold/);
  await field(page, "necks").fill("0");
  await page.click("text=What the cutting shop can cut");
  await field(page, "cutting.least_web_mm").fill("-1");
  assert.match(await faultOf(page, "cutting.least_web_mm"), /0 to 20/);
  await pack(page);
  await says(page, "things are wrong");
  const wrong = await page.$$eval(".packed-body [data-fault]", (buttons) => buttons.map((button) => button.dataset.fault));
  for (const path of ["brace.quantity", "key_arm.thickness_mm", "name", "necks", "cutting.least_web_mm"]) assert.ok(wrong.includes(path), `${path} among ${wrong}`);
  assert.equal(await page.locator('[data-key="save-package"]').count(), 0);
  await page.click('.packed-body [data-fault="cutting.least_web_mm"]');
  assert.equal(await page.evaluate(() => document.activeElement.dataset.path), "cutting.least_web_mm");
  // mended one by one
  await field(page, "cutting.least_web_mm").fill("");
  await field(page, "necks").fill("1");
  await field(page, "name").fill("");
  await field(page, "key_arm.thickness_mm").fill("");
  await field(page, "saddle.metal").selectOption("");
  await field(page, "brace.quantity").fill("2");
  for (const path of ["brace.quantity", "name", "necks", "saddle.metal"]) await noFault(page, path);
  await pack(page);
  await says(page, "Packed");
  noFaults(faults);
  await close();
});

test("what fails a check goes out only when that is said, and the list carries it", async () => {
  const { page, faults, close } = await open({ job: "alto_clash" });
  assert.match(await page.textContent('.order-part[data-part="badge"]'), /clearances? fails?/);
  await pack(page);
  await says(page, "checks fail");
  assert.match(await page.textContent(".failing"), /The badge fails a check: /);
  assert.equal(await page.locator('[data-key="save-package"]').count(), 0);
  // a part that does not fail goes out as it is
  await page.getByRole("button", { name: "None", exact: true }).click();
  await page.getByLabel("Send: Tenon").check();
  await pack(page);
  await says(page, "Packed: look through");
  await page.getByRole("button", { name: "Every part of the neck" }).click();
  assert.equal(await page.locator('[data-key="save-package"]').count(), 0, "an archive of other choices is not handed out");
  await pack(page);
  await page.getByRole("button", { name: "Send all the same" }).click();
  await says(page, "Packed all the same");
  assert.match(await page.locator(".packing-list tbody tr", { hasText: "badge" }).first().textContent(), /▼ Fails: /);
  const { bytes } = await saved(page);
  assert.ok(bytes.equals(command("alto_clash", ["--force"])));
  // it is said for one package and not for good
  await pack(page);
  await says(page, "checks fail");
  noFaults(faults);
  await close();
});

test("outlines and drawings are looked at, their findings marked where they are", async () => {
  const { page, faults, close } = await open();
  await page.getByRole("button", { name: "Key arm", exact: true }).click();
  await page.waitForSelector(".places li");
  const places = await page.$$eval(".places li", (items) => items.map((item) => item.textContent));
  assert.ok(places.some((text) => /hole of 4\.16 mm/.test(text) && /\(42\.24 mm from the left, 58\.37 mm up\)/.test(text)), places.join("\n"));
  // the mark of the hole lies on the hole: round it, at the radius its words give, the picture has ink
  const inked = await page.evaluate(async ([acrossMm, wideMm]) => {
    const image = document.querySelector(".paper.outline img");
    await image.decode();
    const mark = document.querySelector(".paper.outline .place").style;
    const wide = 3000;
    const high = (wide * image.naturalHeight) / image.naturalWidth;
    const canvas = new OffscreenCanvas(wide, high);
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0, wide, high);
    const { data } = context.getImageData(0, 0, wide, high);
    const radius = (acrossMm / 2 / wideMm) * wide;
    const dark = Array.from({ length: 72 }, (_, turn) => {
      const x = Math.round((parseFloat(mark.left) / 100) * wide + radius * Math.cos((turn * Math.PI) / 36));
      const y = Math.round((parseFloat(mark.top) / 100) * high + radius * Math.sin((turn * Math.PI) / 36));
      return data[(y * Math.round(wide) + x) * 4 + 3] > 100;
    });
    return dark.filter(Boolean).length / dark.length;
  }, [4.16, 92.44 * 1.12]);
  assert.ok(inked > 0.95, `${inked} of the hole's rim is found`);
  assert.ok((await page.locator(".paper.outline img").getAttribute("alt")).startsWith("Outline of the key arm laid flat, 92.44 × 71.74 mm"));
  // limits of a coarser shop fail it, and it is told at once
  await page.click("text=What the cutting shop can cut");
  await field(page, "cutting.least_web_mm").fill("9");
  await page.waitForSelector(".places li.fails");
  await page.getByRole("button", { name: "Usual limits" }).click();
  await page.waitForFunction(() => document.querySelector(".places li") !== null && document.querySelector(".places li.fails") === null);
  // another thickness is another outline of a part that is bent
  const size = () => page.textContent(".sheets-body h4");
  await page.getByRole("button", { name: "Saddle", exact: true }).click();
  await page.waitForFunction(() => /Saddle/.test(document.querySelector("#sheets-title").textContent) && document.querySelector(".paper.outline") !== null);
  const thin = await size();
  await page.getByRole("button", { name: "Other stock: Saddle" }).click();
  await field(page, "saddle.thickness_mm").fill("1.2");
  await page.waitForFunction((before) => document.querySelector(".sheets-body h4")?.textContent !== before, thin);
  await page.getByRole("button", { name: "Left post", exact: true }).click();
  await page.waitForSelector('img[alt="Drawing of the left post for the machine shop"]');
  await page.getByRole("button", { name: "Pad", exact: true }).click();
  await page.waitForFunction(() => /solid alone/.test(document.querySelector(".sheets-body").textContent));
  // inches everywhere
  await page.locator('#unit-switch input[value="in"]').check();
  assert.equal(await field(page, "saddle.thickness_mm").inputValue(), "0.047");
  assert.match(await page.textContent('.order-part[data-part="brace"] .order-stock'), /0\.039 in/);
  await page.getByRole("button", { name: "Key arm", exact: true }).click();
  await page.waitForFunction(() => /Laid flat, 3\.639 × 2\.82[45] in/.test(document.querySelector(".sheets-body").textContent));
  noFaults(faults);
  await close();
});

test("one change after packing lets the package go, mends what was wrong, and is kept", async () => {
  const { page, faults, close } = await open();
  await field(page, "necks").fill("0");
  await faultOf(page, "necks");
  await field(page, "necks").fill("1");
  await noFault(page, "necks");
  await pack(page);
  await says(page, "Packed");
  await field(page, "necks").fill("0");
  await faultOf(page, "necks");
  await says(page, "Nothing is packed yet");
  await field(page, "necks").fill("2");
  await noFault(page, "necks");
  await pack(page);
  await says(page, "Packed");
  await field(page, "necks").fill("3");
  await says(page, "Nothing is packed yet");
  await page.reload();
  await page.waitForSelector("#send-out .order-part");
  assert.equal(await field(page, "necks").inputValue(), "3");
  noFaults(faults);
  await close();
});

test("packing can be stopped, and goes on after that", async () => {
  const { page, faults, close } = await open();
  const workers = page.workers().length;
  await field(page, "chord_mm").fill("0.002");
  await pack(page);
  await page.getByRole("button", { name: "Stop", exact: true }).click();
  await says(page, "Stopped: nothing was packed.");
  assert.equal(await page.locator('[data-key="save-package"]').count(), 0);
  await field(page, "chord_mm").fill("0.05");
  await pack(page);
  await says(page, "Packed");
  // the browser takes a moment to end one that is busy
  const until = Date.now() + 10_000;
  while (page.workers().length > workers && Date.now() < until) await page.waitForTimeout(100);
  assert.equal(page.workers().length, workers, "the one that was stopped is gone");
  noFaults(faults);
  await close();
});

test("a core that fails while it packs is told, started anew, and the order is kept", async () => {
  const trapping = trapAt(readFileSync(join(PKG, SHOP_WASM_FILE)), "shop_package", 1);
  let served = 0;
  const { page, close } = await open({
    serviceWorkers: "block",
    before: (page) => page.context().route("**/shop-*.wasm", (route) => ((served += 1) === 1 ? route.fulfill({ body: trapping, contentType: "application/wasm" }) : route.continue())),
  });
  await field(page, "necks").fill("3");
  await pack(page);
  await says(page, "Nothing was packed: the calculation broke off");
  assert.equal(await field(page, "necks").inputValue(), "3");
  await pack(page);
  await says(page, "Packed");
  assert.equal(served, 2);
  await close();
});

test("the room follows the bench, leaves out what was refused there, and keeps what was chosen over a reload", async () => {
  const { page, faults, close } = await open({ job: "alto" });
  await field(page, "necks").fill("4");
  await page.getByLabel("Send: Cork").uncheck();
  await field(page, "drawing.paper").selectOption("letter");
  await page.reload();
  await page.waitForSelector("#send-out .order-part");
  assert.equal(await field(page, "necks").inputValue(), "4");
  assert.equal(await page.getByLabel("Send: Cork").isChecked(), false);
  assert.equal(await field(page, "drawing.paper").inputValue(), "letter");
  await page.getByRole("link", { name: "Bench" }).click();
  await settled(page);
  await openCard(page, "brace");
  await enter(page, "brace.thickness_mm", "1.5");
  await page.locator('#card [data-path="brace.width_mm"]').fill("900");
  await page.waitForFunction(() => document.querySelector('#card [data-path="brace.width_mm"]').getAttribute("aria-invalid") === "true");
  await page.getByRole("link", { name: "Send out" }).click();
  await page.waitForFunction(() => /1\.5 mm/.test(document.querySelector('.order-part[data-part="brace"] .order-stock').textContent));
  assert.match(await page.textContent("#send-out-job"), /what was refused is in nothing that is made here/);
  assert.equal(await field(page, "necks").inputValue(), "4", "it is the same order");
  noFaults(faults);
  await close();
});

test("a job that cannot be built sends nothing, and says why", async () => {
  const { page, close } = await openPage(chromium, {});
  const job = JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "alto.json"), "utf8"));
  job.brace.width_mm = 900;
  await page.locator('#job-actions input[type="file"]').setInputFiles({ name: "wide.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(job)) });
  await page.getByRole("link", { name: "Send out" }).click();
  await page.waitForSelector(".trouble:not([hidden])");
  assert.match(await page.textContent(".trouble"), /cannot be built.*brace\.width_mm/s);
  assert.equal(await page.isVisible(".send-out"), false);
  await close();
});

test("a package is made by keyboard alone", async () => {
  const { page, faults, close } = await open();
  const key = (name) => page.keyboard.press(name);
  const tabTo = async (what, matches) => {
    for (let presses = 0; presses < 200; presses += 1) {
      if (await page.evaluate(matches)) return;
      await key("Tab");
    }
    assert.fail(`${what} is not reached`);
  };
  await tabTo("the choice of none", () => document.activeElement.textContent === "None");
  await key("Enter");
  await tabTo("the brace's box", () => document.activeElement.dataset.key === "send-brace");
  await key("Space");
  await key("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.dataset.key), "look-brace");
  await key("Enter");
  await page.waitForFunction(() => document.querySelector("#sheets-title").textContent === "Sheets: Brace");
  await key("Tab");
  await key("Control+a");
  await page.keyboard.type("2");
  await tabTo("packing", () => document.activeElement.textContent === "Pack");
  await key("Enter");
  await says(page, "Packed");
  const { bytes } = await download(page, async () => {
    await tabTo("the archive", () => document.activeElement.dataset.key === "save-package");
    await key("Enter");
  });
  assert.ok(bytes.subarray(0, 2).toString() === "PK");
  noFaults(faults);
  await close();
});

for (const [size, options] of Object.entries({ desk: { viewport: DESK }, phone: { viewport: PHONE, hasTouch: true, isMobile: true }, "320 px": { viewport: { width: 320, height: 640 }, hasTouch: true, isMobile: true } })) {
  for (const colorScheme of ["light", "dark"]) {
    test(`nothing is found wanting at ${size}, ${colorScheme}`, async () => {
      const { page, faults, close } = await open({ job: "alto_clash", ...options, colorScheme });
      const look = async (state) => {
        assert.deepEqual(await judged(page), [], state);
        const sideways = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(sideways <= 0, `${state}: ${sideways} px sideways`);
      };
      await look("the room");
      await page.click('[data-key="look-key_arm"]');
      await page.waitForSelector(".places li");
      await page.click("text=The whole sheet with its notes, true size");
      await page.click('[data-key="stock-key_arm"]');
      await page.click("text=What the cutting shop can cut");
      await field(page, "brace.quantity").fill("0");
      await faultOf(page, "brace.quantity");
      await look("sheets, stock, limits and a fault");
      await field(page, "brace.quantity").fill("1");
      await page.click('[data-key="look-tenon"]');
      await page.waitForSelector('img[alt^="Drawing of the tenon"]');
      await pack(page);
      await says(page, "fail");
      await look("what fails");
      await page.getByRole("button", { name: "Send all the same" }).click();
      await says(page, "Packed all the same");
      await page.locator(".packing-list summary").first().click();
      await look("the packing list");
      if (size !== "desk") {
        for (const control of [".order-name", ".order-open", ".packed-room button.first", ".doors a", ".limits summary"]) {
          const box = await page.locator(`${control}:visible`).first().boundingBox();
          assert.ok(box.height >= 44, `${control} takes a finger: ${box.height}`);
        }
      }
      noFaults(faults);
      await close();
    });
  }
}
