// For everyone: an outside judge of names, roles and contrast over every state of the page; the whole work by keyboard alone;
// help for every parameter.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { build } from "esbuild";
import { initSync, jobSchema } from "../../web/pkg/neckwright.js";
import { PKG, WEB } from "../../web/scripts/paths.mjs";
import { judged } from "./judge.mjs";
import { DESK, enter, noFaults, openCard, openMenu, openPage, PHONE, settled, startBrowser } from "./open_page.mjs";


let chromium;
before(async () => {
  chromium = await startBrowser();
  initSync({ module: readFileSync(join(PKG, "neckwright_bg.wasm")) });
});
after(() => chromium.close());

const sideways = (page) => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);

for (const [size, options] of Object.entries({ desk: { viewport: DESK }, phone: { viewport: PHONE, hasTouch: true, isMobile: true }, "320 px": { viewport: { width: 320, height: 640 }, hasTouch: true, isMobile: true } })) {
  for (const colorScheme of ["light", "dark"]) {
    test(`nothing is found wanting at ${size}, ${colorScheme}`, async () => {
      const { page, faults, close } = await openPage(chromium, { ...options, colorScheme });
      const look = async (state) => {
        assert.deepEqual(await judged(page), [], state);
        assert.ok((await sideways(page)) <= 0, `${state}: nothing scrolls sideways`);
      };
      await look("a first visit");
      await page.click("text=Go on with this alto");
      await look("the bench");
      await openCard(page, "brace");
      await page.getByRole("button", { name: "What Width measures" }).click();
      await page.waitForSelector(".asked svg");
      await look("open help");
      await enter(page, "brace.width_mm", "900");
      await look("a fault");
      await enter(page, "brace.width_mm", "5.5");
      await openMenu(page);
      await page.getByRole("button", { name: "Copy a link" }).click();
      await page.waitForSelector("#link:not([hidden])");
      await page.getByRole("button", { name: "Variants" }).click();
      await page.fill("#variant-name", "narrow");
      await page.keyboard.press("Enter");
      await enter(page, "brace.width_mm", "5");
      await page.getByRole("button", { name: "Compare" }).click();
      await page.waitForFunction(() => document.querySelector(".compare-choice .progress").textContent === "Both measured.");
      await page.getByRole("button", { name: "Remove: narrow" }).click();
      await look("variants");
      if (size !== "desk") {
        for (const control of ["#steps button", "button.ask", "#variants button", "#link button"]) {
          const box = await page.locator(control).first().boundingBox();
          assert.ok(box.height >= 44, `${control} takes a finger: ${box.height}`);
        }
      }
      noFaults(faults);
      await close();
    });
  }
}

test("a neck is changed, compared and taken back by keyboard alone", async () => {
  const { page, faults, close } = await openPage(chromium);
  const key = (name) => page.keyboard.press(name);
  /** Tabs on until the focus is where it is wanted. */
  const tabTo = async (what, matches) => {
    for (let presses = 0; presses < 260; presses += 1) {
      if (await page.evaluate(matches)) return;
      await key("Tab");
    }
    assert.fail(`${what} is not reached`);
  };
  // the start: the alto is one key away
  await key("Enter");
  assert.equal(await page.isVisible("#start"), false);
  await tabTo("the brace's card", () => document.activeElement.dataset.key === "card-brace");
  await key("Enter");
  await tabTo("the help of its width", () => document.activeElement.getAttribute("aria-label") === "What Width measures");
  await key("Enter");
  await page.waitForSelector(".asked:not([hidden]) svg");
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute("aria-expanded")), "true");
  assert.match(await page.textContent(".asked:not([hidden])"), /^Width of the strip\. From 2 to 20 mm\.$/);
  assert.equal(await page.locator(".asked:not([hidden]) svg").getAttribute("aria-label"), "The tube cut across, the brace under it; marked: Width");
  await key("Escape");
  assert.equal(await page.locator(".asked:not([hidden])").count(), 0);
  await key("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.dataset.path), "brace.width_mm");
  await key("Control+a");
  await page.keyboard.type("5.5");
  await key("Enter");
  await settled(page);
  await tabTo("the variants", () => document.activeElement.textContent === "Variants");
  await key("Enter");
  await tabTo("the name", () => document.activeElement.id === "variant-name");
  await page.keyboard.type("narrow");
  await key("Enter");
  await key("Escape");
  await tabTo("taking back", () => document.activeElement.textContent === "Take back");
  await key("Enter");
  assert.equal(await page.textContent("#step-said"), "Taken back: Brace is wide 5.5 mm, was 6.0");
  await settled(page);
  await tabTo("comparing", () => document.activeElement.textContent === "Compare");
  await key("Enter");
  await page.waitForFunction(() => document.querySelector(".compare-choice .progress").textContent === "Both measured.");
  assert.match(await page.textContent(".compared"), /Brace is wide6\.0 mm5\.5 mm/);
  noFaults(faults);
  await close();
});

/** A piece of the page's source, as Node can run it. */
async function load(path) {
  const { outputFiles } = await build({ entryPoints: [join(WEB, "src", path)], bundle: true, write: false, format: "esm", target: "es2022" });
  return import(`data:text/javascript;base64,${Buffer.from(outputFiles[0].contents).toString("base64")}`);
}

/** Every parameter path of the schema, rows without their number. */
function schemaPaths() {
  const schema = JSON.parse(JSON.stringify(jobSchema()));
  const found = new Set();
  const resolved = (node) => (node.$ref === undefined ? node : { ...resolved(node.$ref.slice(2).split("/").reduce((at, step) => at[step], schema)), ...node, $ref: undefined });
  const walk = (raw, path) => {
    const node = resolved(raw);
    const ways = node.anyOf ?? node.oneOf;
    if (ways !== undefined && !ways.every((way) => "const" in way)) for (const way of ways) walk(way, path);
    else if (node.properties !== undefined) for (const [key, inner] of Object.entries(node.properties)) walk(inner, path === "" ? key : `${path}.${key}`);
    else if (node.items !== undefined) walk(node.items, `${path}[]`);
    else if (node.type !== "null") found.add(path);
  };
  walk(schema, "");
  found.delete("format");
  return [...found].sort();
}

test("every parameter of the schema has its words and its drawing, and none has one for nothing", async () => {
  const { measuredBy, measuredPaths } = await load("panels/help/measured.ts");
  const { WORDS } = await load("state/words.ts");
  const paths = schemaPaths();
  assert.ok(paths.length > 140, `${paths.length} were found`);
  assert.deepEqual(paths.filter((path) => measuredBy(path) === undefined), []);
  assert.deepEqual([...measuredPaths].sort(), paths);
  assert.deepEqual(paths.filter((path) => WORDS[path] === undefined), []);
  // no two parameters that are not the same measure share words
  const words = paths.map((path) => WORDS[path]);
  assert.deepEqual(words.filter((word, index) => words.indexOf(word) !== index), []);
});

test("no drawing leaves its sheet", async () => {
  const { PICTURES } = await load("panels/help/pictures.ts");
  const { draw } = await load("panels/help/sheet.ts");
  assert.equal(typeof draw, "function");
  const { page, close } = await openPage(chromium);
  await page.goto(`${chromium.url}icon.svg`);
  const source = await build({ stdin: { contents: 'import { PICTURES } from "./pictures.ts"; import { draw } from "./sheet.ts"; window.PICTURES = PICTURES; window.draw = draw;', resolveDir: join(WEB, "src", "panels", "help"), loader: "ts" }, bundle: true, write: false, format: "iife" });
  await page.goto("about:blank");
  await page.evaluate(source.outputFiles[0].text);
  const outside = await page.evaluate(() =>
    Object.entries(window.PICTURES).flatMap(([name, picture]) =>
      Object.entries(picture.marks).flatMap(([mark, value]) => {
        const drawing = window.draw(picture, value, mark);
        drawing.setAttribute("width", "240");
        document.body.replaceChildren(drawing);
        // lines of the mark and what is drawn; a tube that goes on may be cut off by the sheet
        return [...drawing.querySelectorAll(".drawing-mark, .drawing-metal, .drawing-part")].flatMap((path) => {
          const { x, y, width, height } = path.getBBox();
          return x < 0 || y < 0 || x + width > 240 || y + height > 150 ? [`${name}, ${mark}: ${path.getAttribute("class")} ${[x, y, width, height].map(Math.round)}`] : [];
        });
      }),
    ),
  );
  assert.deepEqual(outside, []);
  assert.ok(Object.keys(PICTURES).length > 40);
  await close();
});
