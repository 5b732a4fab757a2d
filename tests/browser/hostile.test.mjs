// What comes from outside (job files, links, names) puts nothing into the page, and takes nothing away from it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { deflateRawSync, inflateRawSync } from "node:zlib";
import { DIST, enter, noFaults, openCard, openPage, ROOT, rows, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const alto = () => JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "alto.json"), "utf8"));
const jobFile = (text, name) => ({ name, mimeType: "application/json", buffer: Buffer.from(typeof text === "string" ? text : JSON.stringify(text)) });
const packed = (text) => `#job=1.${deflateRawSync(Buffer.from(text)).toString("base64url")}`;

const MARKUP = '"><img src=x onerror="window.hit=1"><script>window.hit=1</script><svg onload="window.hit=1"><a href="javascript:window.hit=1">x</a>';

/** Every string of a job replaced by markup. */
function marked(value, key) {
  if (typeof value === "string") return key === "format" ? value : MARKUP;
  if (Array.isArray(value)) return value.map((item) => marked(item));
  if (typeof value === "object" && value !== null) return Object.fromEntries(Object.entries(value).map(([name, item]) => [name, marked(item, name)]));
  return value;
}

/** Nothing of the page's own is touched, and nothing has run. */
async function untouched(page) {
  const found = await page.evaluate(() => ({
    hit: window.hit,
    polluted: {}.polluted,
    images: document.querySelectorAll("img, iframe, object, embed, [onerror], [onload], a[href^='javascript:']").length,
    scripts: [...document.scripts].filter((script) => script.src === "").length,
    title: document.title,
  }));
  assert.deepEqual(found, { hit: undefined, polluted: undefined, images: 0, scripts: 0, title: "Neckwright" });
}

test("markup in every string, key and name of a job stays text", async () => {
  const { page, faults, close } = await openPage(chromium);
  const list = await rows(page);
  const job = marked(alto());
  job[MARKUP] = MARKUP;
  await page.setInputFiles('input[type="file"]', jobFile(job, `${"<b>x</b>"}.json`));
  await settled(page);
  await page.waitForSelector("#faults:not([hidden])");
  assert.ok((await page.textContent("#job-line")).includes("<img src=x"), "it is shown as it is written");
  for (const card of ["order", "neck_line", "brace", "tube"]) await openCard(page, card);
  await untouched(page);
  assert.deepEqual(await rows(page), list, "the last good neck stands");

  // a sound job with markup where a job may have any text goes all the way: steps, variants, comparison, files, link
  const sound = alto();
  for (const field of Object.keys(sound.order)) sound.order[field] = MARKUP.slice(0, 30);
  await page.setInputFiles('input[type="file"]', jobFile(sound, "sound.json"));
  await settled(page);
  await page.getByRole("button", { name: "Variants" }).click();
  await page.fill("#variant-name", MARKUP);
  await page.keyboard.press("Enter");
  await openCard(page, "order");
  await enter(page, "order.note", MARKUP);
  await page.getByRole("button", { name: "Compare" }).click();
  await page.waitForFunction(() => document.querySelector(".compare-choice .progress").textContent === "Both measured.");
  await page.getByRole("button", { name: "Take back" }).click();
  await untouched(page);
  noFaults(faults);
  await close();
});

test("keys that would reach into the page's own objects reach nothing", async () => {
  const { page, faults, close } = await openPage(chromium);
  const list = await rows(page);
  const text = JSON.stringify(alto()).replace(/^\{/, '{"__proto__":{"polluted":1},"constructor":{"prototype":{"polluted":1}},').replace('"brace":{', '"brace":{"__proto__":{"polluted":1},"toString":1,"hasOwnProperty":1,');
  await page.setInputFiles('input[type="file"]', jobFile(text, "keys.json"));
  await page.waitForSelector('[data-fault*="__proto__"], [data-fault*="constructor"]');
  await settled(page);
  await openCard(page, "brace");
  await enter(page, "brace.width_mm", "5");
  await page.getByRole("button", { name: "Take back" }).click();
  await untouched(page);
  assert.deepEqual(await rows(page), list);
  await page.reload();
  await settled(page);
  await untouched(page);
  assert.deepEqual(await rows(page), list, "the last good neck stands again too");
  noFaults(faults);
  await close();
});

test("numbers that are none are all told, and the page works on", async () => {
  const { page, faults, close } = await openPage(chromium);
  const job = alto();
  const text = JSON.stringify({ ...job, brace: { ...job.brace, width_mm: "6", thickness_mm: null }, tube: { wall_mm: { valueOf: 1 }, metal: 5 }, centreline: [], vent: "none" });
  await page.setInputFiles('input[type="file"]', jobFile(text, "words.json"));
  await page.waitForSelector('[data-fault="brace.width_mm"]');
  await settled(page);
  for (const path of ["brace.thickness_mm", "tube", "centreline", "vent"]) assert.ok((await page.locator(`[data-fault^="${path}"]`).count()) > 0, path);
  for (const card of ["brace", "tube", "neck_line", "vent", "order"]) await openCard(page, card);
  await page.getByRole("button", { name: "Take back" }).click();
  await settled(page);
  assert.equal(await page.isVisible("#faults:not(.warning)"), false);
  noFaults(faults);
  await close();
});

test("files that are far too deep, too large or no JSON are answered with what is wrong", async () => {
  const { page, faults, close } = await openPage(chromium);
  const list = await rows(page);
  const deep = (opens, closes, count) => opens.repeat(count) + closes.repeat(count);
  const files = {
    "deep-list.json": [deep("[", "]", 300_000), "it is no job file (it is nested far deeper than a job)"],
    "deep-job.json": [JSON.stringify({ ...alto(), badge: null }).replace('"badge":null', `"badge":${'{"a":'.repeat(90_000)}1${"}".repeat(90_000)}`), "it is no job file (it is nested far deeper than a job)"],
    "huge.json": ["9".repeat(1_200_000), "it is far larger than a job"],
    "nothing.json": ["", "it is no job file (it cannot be read as JSON)"],
    "nan.json": ['{"format":"neckwright-job/1","a":NaN}', "it is no job file (it cannot be read as JSON)"],
    "list.json": ['["neckwright-job/1"]', "it is no job file (it has no format “neckwright-job/…”)"],
    "binary.json": ["\u0000\u0001\ufffd", "it is no job file (it cannot be read as JSON)"],
  };
  for (const [name, [text, why]] of Object.entries(files)) {
    await page.setInputFiles('input[type="file"]', jobFile(text, name));
    await page.waitForFunction((start) => document.querySelector("#notice span")?.textContent === start, `${name} was not opened: ${why}.`);
    assert.deepEqual(await rows(page), list);
  }
  // within what a file may be, and still far more than a job: told, and the page is quick to answer again
  const many = alto();
  many.bore = { table: Array.from({ length: 20_000 }, (_, index) => ({ station_mm: index / 100, diameter_mm: 12 })) };
  await page.setInputFiles('input[type="file"]', jobFile(many, "many.json"));
  await page.waitForSelector("#faults:not([hidden])");
  await page.getByRole("button", { name: "Take back" }).click();
  await settled(page);
  assert.deepEqual(await rows(page), list);
  noFaults(faults);
  await close();
});

test("a job goes by a link, whole, and comes back the same", async () => {
  const { page, faults, close } = await openPage(chromium, { permissions: ["clipboard-read", "clipboard-write"] });
  await openCard(page, "brace");
  await enter(page, "brace.thickness_mm", "1.3");
  await page.getByRole("button", { name: "Copy a link" }).click();
  await page.waitForSelector("#link:not([hidden])");
  assert.match(await page.textContent("#link"), /^The link is copied\. It holds the whole job: every number, order and serial number, and the note\. Nothing was sent anywhere/);
  const link = await page.evaluate(() => navigator.clipboard.readText());
  assert.equal(link, await page.getByLabel("The link").inputValue());
  // read by another program's hand
  const job = JSON.parse(inflateRawSync(Buffer.from(link.split("#job=1.")[1], "base64url")));
  assert.deepEqual(job, { ...alto(), brace: { ...alto().brace, thickness_mm: 1.3 } });

  const other = await openPage({ ...chromium, url: link });
  assert.equal(await other.page.isVisible("#start"), false);
  assert.match(await other.page.textContent("#notice"), /^Job DEMO-001 is open, from a link\./);
  await openCard(other.page, "brace");
  assert.equal(await other.page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.3");
  assert.equal(new URL(other.page.url()).hash, "", "a reload brings back what is done from here on");
  await enter(other.page, "brace.thickness_mm", "1.4");
  await other.page.reload();
  await settled(other.page);
  assert.equal(await other.page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.4");
  noFaults([...faults, ...other.faults]);
  await other.close();
  await close();
});

test("where nothing may be copied the link stands there to be copied by hand", async () => {
  const { page, faults, close } = await openPage(chromium, { before: (page) => page.addInitScript(() => Object.defineProperty(navigator, "clipboard", { value: undefined })) });
  await page.getByRole("button", { name: "Copy a link" }).click();
  await page.waitForSelector("#link:not([hidden])");
  assert.match(await page.textContent("#link"), /^Copy the link from here:/);
  assert.equal(await page.evaluate(() => document.activeElement.selectionEnd - document.activeElement.selectionStart > 500), true, "it is chosen whole");
  noFaults(faults);
  await close();
});

test("broken and hostile links are answered with what is wrong, and the job here stays", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await enter(page, "brace.thickness_mm", "1.3");
  const good = packed(JSON.stringify(alto()));
  const links = {
    [good.slice(0, -40)]: "part of it is missing or was changed on the way",
    "#job=1.%%%": "part of it is missing or was changed on the way",
    "#job=1.": "part of it is missing or was changed on the way",
    "#job=2.abc": "it was made by a newer version of the page",
    "#job=": "it holds no job",
    [packed('{"hello":1}')]: "what it holds is no job",
    [packed("[".repeat(500_000))]: "what it holds is no job",
    [packed("0".repeat(60_000_000))]: "what it holds is far larger than a job",
    [`#job=1.${"A".repeat(300_000)}`]: "it is far longer than one that holds a job",
  };
  for (const [hash, why] of Object.entries(links)) {
    await page.evaluate((to) => {
      location.hash = to;
    }, hash);
    await page.waitForFunction((words) => document.querySelector("#notice span")?.textContent === words, `The link was not opened: ${why}. What lies here is as it was.`);
    assert.equal(await page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.3");
    await page.locator("#notice").getByRole("button", { name: "Close" }).click();
  }
  // a job with faults is opened like a file with faults, and is one step
  const faulty = alto();
  faulty.brace.width_mm = 900;
  faulty.order.note = MARKUP;
  await page.evaluate((to) => {
    location.hash = to;
  }, packed(JSON.stringify(faulty)));
  await page.waitForSelector('[data-fault="brace.width_mm"]');
  await untouched(page);
  await page.getByRole("button", { name: "Take back" }).click();
  await settled(page);
  assert.equal(await page.locator('#card [data-path="brace.thickness_mm"]').inputValue(), "1.3");
  noFaults(faults);
  await close();
});

test("the page's own policy lets nothing run but its own files", async () => {
  const html = readFileSync(join(DIST, "index.html"), "utf8");
  const policy = /http-equiv="Content-Security-Policy"\s+content="([^"]+)"/.exec(html)[1];
  assert.equal(policy, "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self'; connect-src 'self'; style-src 'self'; img-src 'self' data: blob:; base-uri 'none'; form-action 'none'");
  assert.ok(!/<script(?![^>]*\ssrc=)/.test(html) && !/\sstyle=|\son\w+=/.test(html), "no script, style or listener stands in the page itself");
  // the README tells hosts the same
  assert.ok(readFileSync(join(ROOT, "README.md"), "utf8").includes(`Content-Security-Policy: ${policy}; frame-ancestors 'none'`));

  const { page, close } = await openPage(chromium);
  const blocked = await page.evaluate(
    () =>
      new Promise((resolve) => {
        document.addEventListener("securitypolicyviolation", ({ effectiveDirective }) => resolve([effectiveDirective, window.hit]), { once: true });
        const script = document.createElement("script");
        script.textContent = "window.hit = 1";
        document.body.append(script);
      }),
  );
  assert.deepEqual(blocked, ["script-src-elem", undefined]);
  await close();
});
