// Parts placed by hand on the neck itself: by mouse, by touch and by keyboard.
import assert from "node:assert/strict";
import { cpSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { serve } from "../../web/scripts/serve.mjs";
import { scratchFolder } from "../scratch.mjs";
import { finger, placed, placeOf, rests, stationOf } from "./hands.mjs";
import { DIST, noFaults, openCard, openPage, PHONE, ROOT, rows, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const job = (name) => JSON.parse(readFileSync(join(ROOT, "examples", "jobs", `${name}.json`), "utf8"));
const field = (page, path) => page.locator(`#card [data-path="${path}"]`).inputValue();
const verdict = (page) => page.textContent("#list-verdict");
const ALL_CLEAR = /^All \d+ pairs are within their limits/;

/** The alto whose badge runs under the saddle, seen from above, its names put away. */
async function openClash(options) {
  const opened = await openPage(chromium, options);
  const { page } = opened;
  await page.setInputFiles('input[type="file"]', join(ROOT, "examples", "jobs", "alto_clash.json"));
  await page.waitForSelector('#list .pair.fails[data-row="saddle|badge"]');
  await settled(page);
  await page.locator("#canvas").focus();
  for (let presses = 0; presses < 18; presses += 1) await page.keyboard.press("ArrowUp");
  await page.waitForTimeout(300);
  return opened;
}

test("the badge is dragged clear of the saddle by mouse: the list follows, and it is one change", async () => {
  const { page, faults, close } = await openClash();
  const was = job("alto_clash").badge.station_mm;
  const at = await placeOf(page, "badge");
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  const told = new Set([await verdict(page)]);
  let x = at.x;
  for (; x < at.x + 300 && !ALL_CLEAR.test(await verdict(page)); x += 2) {
    // along the tube, and a little to the side of the key's spring
    await page.mouse.move(x, at.y - (x - at.x) * 0.3);
    await rests(page);
    told.add(await page.textContent("#list"));
  }
  assert.ok(told.size > 4, "the list changed with it, time and again");
  await rests(page);
  assert.match(await verdict(page), ALL_CLEAR, "the list says so while the part is still held");
  assert.match(await page.textContent("#view-ink"), /\d+\.\d\d mm, \d+\.\d° left/, "its numbers stand beside it");
  const held = await stationOf(page);
  assert.equal(Number(await field(page, "badge.station_mm")), held, "its card goes with it");
  assert.match(await placed(page), /It clears its neighbours/, "and so does what is said of it");
  assert.equal(await page.textContent(".step-said"), "alto_clash.json was opened", "it is no change of the job while it is held");
  await page.mouse.up();
  await settled(page);
  assert.equal(Number(await field(page, "badge.station_mm")), held);
  assert.ok(held > was + 3, `${held}`);
  assert.match(await verdict(page), ALL_CLEAR);
  // fine meshes come once it is let go
  await page.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });

  await page.getByRole("button", { name: "Take back", exact: true }).click();
  await settled(page);
  assert.equal(await field(page, "badge.station_mm"), String(was), "one step back is where it was");
  noFaults(faults);
  await close();
});

test("while a part is held rows that are clear keep their places and none goes; put down, the nearest stand first again", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.evaluate(() => new Promise((done) => setTimeout(done, 300)));
  const LISTS = ["#list", "#card .card-rows"];
  const clear = (list) => page.$$eval(`${list} .pair:not(.fails)`, (rows) => rows.map((row) => ({ pair: row.dataset.row, word: row.querySelector(".word").textContent, gap: Number.parseFloat(row.querySelector(".gap").textContent.replace(/[^\d.]/g, "")) })));
  const at = await placeOf(page, "brace");
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  await page.mouse.move(at.x - 8, at.y);
  await rests(page);
  const before = await Promise.all(LISTS.map(clear));
  assert.ok(before[1].length > 3 && before[0].length > 20);
  const gaps = new Map(before.flat().map(({ pair, gap }) => [pair, gap]));
  const changed = LISTS.map(() => 0);
  const came = LISTS.map(() => 0);
  for (let step = 1; step <= 12; step += 1) {
    await page.mouse.move(at.x - 8 - 3 * step, at.y);
    await rests(page);
    for (const [list, stood] of before.entries()) {
      const now = await clear(LISTS[list]);
      assert.deepEqual(now.slice(0, stood.length).map(({ pair }) => pair), stood.map(({ pair }) => pair), `${LISTS[list]}: no row goes, or past another`);
      came[list] = Math.max(came[list], now.length - stood.length);
      changed[list] += now.filter(({ pair, gap }) => gaps.get(pair) !== gap).length;
    }
  }
  assert.ok(changed.every((rows) => rows > 0), `their numbers change meanwhile: ${changed}`);
  assert.ok(came.every((rows) => rows > 0), `what comes nearer is shown under them: ${came}`);
  await page.mouse.up();
  await settled(page);
  assert.deepEqual(await Promise.all(LISTS.map((list) => clear(list).then(({ length }) => length))), before.map(({ length }) => length), "as many as before");
  const free = (await clear("#list")).filter(({ word }) => word === "clear").slice(0, 6);
  assert.ok(free.length > 3);
  // all of them are asked for the same least gap
  assert.deepEqual(free.map(({ gap }) => gap), free.map(({ gap }) => gap).sort((one, other) => one - other));
  noFaults(faults);
  await close();
});

test("a part taken up with the key at an angle and given back unmoved leaves the lists as they belong", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "saddle");
  const lists = () => Promise.all(["#list", "#card .card-rows"].map((list) => page.$$eval(`${list} .pair`, (rows) => rows.map((row) => [row.dataset.row, row.querySelector(".gap").textContent]))));
  const closed = await lists();
  const text = await verdict(page);
  await page.locator("#key-slider").fill("60");
  await page.waitForFunction(() => document.querySelector("#list-verdict").textContent.startsWith("With the key at"));
  assert.notDeepEqual(await lists(), closed, "at an angle other rows are nearest");
  await page.getByRole("button", { name: "Pick it up" }).focus();
  await page.keyboard.press("Enter");
  assert.match(await placed(page), /Arrow keys move it/);
  assert.deepEqual(await lists(), closed, "held, it is the list of the whole swing");
  await page.keyboard.press("Escape");
  await page.waitForFunction(() => !/Arrow keys move it/.test(document.querySelector("#placing").textContent));
  assert.equal(await verdict(page), text);
  assert.deepEqual(await lists(), closed);
  noFaults(faults);
  await close();
});

test("rows that came up while a part was held go when it is put back", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  const lists = () => Promise.all(["#list", "#card .card-rows"].map((list) => page.$$eval(`${list} .pair`, (rows) => rows.map((row) => row.dataset.row))));
  const others = () => page.textContent("#list > button");
  const [before, more] = [await lists(), await others()];
  await page.getByRole("button", { name: "Pick it up" }).focus();
  await page.keyboard.press("Enter");
  for (let presses = 0; presses < 6; presses += 1) {
    await page.keyboard.press("PageUp");
    await rests(page);
  }
  const held = await lists();
  assert.ok(held[1].length > before[1].length, "rows came up");
  const all = Number(/Show the other (\d+)/.exec(more)[1]) + before[0].length;
  assert.equal(Number(/Show the other (\d+)/.exec(await others())[1]), all - held[0].length, "what is not shown is counted");
  await page.keyboard.press("Escape");
  await settled(page);
  assert.deepEqual(await lists(), before);
  assert.equal(await others(), more);
  noFaults(faults);
  await close();
});

/** The page with another script for the core's helper: no page can stand between a worker and the worker it starts. */
async function withHelper(script) {
  const folder = scratchFolder();
  cpSync(DIST, folder, { recursive: true });
  const [name] = readdirSync(join(folder, "assets")).filter((file) => /^helper-.*\.js$/.test(file));
  const path = join(folder, "assets", name);
  writeFileSync(path, script(readFileSync(path, "utf8")));
  const server = await serve({ "/": folder }, 0);
  return { browser: chromium.browser, server, url: server.url };
}

test("two cores follow a saddle that is dragged, and tell what one would", async () => {
  const dragged = async (script) => {
    const served = await withHelper(script);
    const { page, faults, close } = await openPage(served, {
      before: (page) =>
        page.addInitScript(() => {
          window.helping = [];
          new BroadcastChannel("helping").onmessage = ({ data }) => window.helping.push(data);
        }),
    });
    // it is started when nothing else is left to do
    await page.waitForFunction(() => window.helping.length > 0);
    const at = await placeOf(page, "saddle");
    await page.mouse.move(at.x, at.y);
    await page.mouse.down();
    for (let step = 1; step <= 4; step += 1) {
      await page.mouse.move(at.x - 8 * step, at.y);
      await rests(page);
    }
    const told = { rows: await rows(page), place: await placed(page), helped: await page.evaluate(() => window.helping) };
    await page.mouse.up();
    await settled(page);
    noFaults(faults);
    await close();
    await served.server.close();
    return told;
  };
  const tells = "const told = new BroadcastChannel('helping'); const was = self.postMessage; self.postMessage = (message, transfer) => { told.postMessage(message.kind); was.call(self, message, transfer); };\n";
  const both = await dragged((body) => tells + body);
  assert.ok(both.helped.includes("measured"), `the helper has measured some of it: ${both.helped}`);
  // truth: the list of one core, which is held against an independent kernel elsewhere
  const one = await dragged(() => `${tells}self.postMessage({ kind: "failed" });`);
  assert.deepEqual(one.helped, ["failed"]);
  assert.deepEqual(both.rows, one.rows);
  assert.equal(both.place, one.place);
});

test("the badge is moved clear by keyboard alone", async () => {
  const { page, faults, close } = await openClash();
  await openCard(page, "badge");
  const was = job("alto_clash").badge;
  await page.waitForFunction(() => /It does not clear its neighbours here \(saddle: overlap\); it would from/.test(document.querySelector("#placing").textContent));
  const from = Number(/it would.* from (\d+\.\d\d) mm \([^)]*\) to/.exec(await placed(page))[1]);
  await page.getByRole("button", { name: "Pick it up" }).focus();
  await page.keyboard.press("Enter");
  assert.match(await placed(page), /Arrow keys move it by 0\.1 mm, with Shift by 0\.01 mm; Enter puts it down, Escape gives the old place back/);
  await page.keyboard.press("ArrowRight");
  await rests(page);
  assert.equal(await stationOf(page), Number((was.station_mm + 0.1).toFixed(2)));
  await page.keyboard.press("Shift+ArrowLeft");
  await rests(page);
  assert.equal(await stationOf(page), Number((was.station_mm + 0.09).toFixed(2)));
  for (let presses = 0; presses < 40 && !ALL_CLEAR.test(await verdict(page)); presses += 1) {
    await page.keyboard.press("PageUp");
    await rests(page);
  }
  assert.match(await verdict(page), ALL_CLEAR);
  // the first whole step at which it is clear is the first beyond what it was told: the room to the tenon's side begins there
  const clear = await stationOf(page);
  const sides = [...(await placed(page)).matchAll(/from (\d+\.\d\d) mm/g)].map(([, mm]) => Number(mm));
  assert.ok(sides.some((begins) => clear >= begins - 0.02 && clear <= begins + 1), `${clear} of ${sides}, first told ${from}`);
  await page.keyboard.press("ArrowUp");
  await rests(page);
  await page.keyboard.press("Enter");
  await settled(page);
  const outside = job("alto_clash").bore.entry_diameter_mm / 2 + clear * Math.tan((1.6 * Math.PI) / 180) + job("alto_clash").tube.wall_mm;
  assert.ok(Math.abs(Number(await field(page, "badge.azimuth_deg")) - was.azimuth_deg - (0.1 / outside) * (180 / Math.PI)) < 0.01, "round by a tenth of a millimetre on the outside");
  assert.equal(Number(await field(page, "badge.station_mm")), clear);
  noFaults(faults);
  await close();
});

test("the badge is dragged clear by a finger at phone size", async () => {
  const { page, faults, close } = await openClash({ viewport: PHONE, hasTouch: true, isMobile: true });
  await page.evaluate(() => scrollTo(0, document.querySelector(".view-room").offsetTop));
  const at = await placeOf(page, "badge");
  const touch = await finger(page);
  await touch.down(at.x, at.y);
  for (let x = at.x; x < at.x + 150 && !ALL_CLEAR.test(await verdict(page)); x += 3) {
    await touch.move(x, at.y - (x - at.x) * 0.3);
    await page.waitForTimeout(60);
  }
  await rests(page);
  assert.match(await verdict(page), ALL_CLEAR);
  await touch.up();
  await settled(page);
  assert.match(await verdict(page), ALL_CLEAR);
  assert.ok(Number(await field(page, "badge.station_mm")) > job("alto_clash").badge.station_mm + 3);
  assert.ok((await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
  noFaults(faults);
  await close();
});

test("Escape gives the old place back, by hand and by keyboard, and so does its button", async () => {
  const { page, faults, close } = await openClash();
  const whole = await rows(page);
  const at = await placeOf(page, "badge");
  const drag = async () => {
    await page.mouse.move(at.x, at.y);
    await page.mouse.down();
    await page.mouse.move(at.x + 20, at.y, { steps: 4 });
    await page.mouse.move(at.x + 60, at.y, { steps: 4 });
    await rests(page);
    assert.notDeepEqual(await rows(page), whole);
  };
  await drag();
  await page.keyboard.press("Escape");
  await settled(page);
  await page.mouse.move(at.x + 90, at.y);
  await page.mouse.up();
  await rests(page);
  assert.deepEqual(await rows(page), whole);
  assert.equal(await stationOf(page), job("alto_clash").badge.station_mm);

  // by keyboard, and with its button
  await page.getByRole("button", { name: "Pick it up" }).click();
  for (const key of ["PageUp", "PageUp", "ArrowDown"]) await page.keyboard.press(key);
  await rests(page);
  await page.getByRole("button", { name: "Put it back" }).click();
  await settled(page);
  assert.deepEqual(await rows(page), whole);
  assert.equal(await field(page, "badge.station_mm"), String(job("alto_clash").badge.station_mm));
  noFaults(faults);
  await close();
});

test("a part stops at the last good place, and the page says why", async () => {
  const { page, faults, close } = await openPage(chromium);
  const alto = job("alto");
  await openCard(page, "brace");
  const { from_station_mm: from, to_station_mm: to } = alto.brace;
  // the room is told without moving anything: up to the collar, less the least clearance
  const length = alto.centreline.pieces.reduce((sum, { straight_mm, bend_deg, radius_mm }) => sum + (straight_mm ?? (Math.abs(bend_deg) * Math.PI * radius_mm) / 180), 0);
  const last = length - alto.tenon.length_mm - alto.tenon.collar_length_mm - alto.limits.least_clearance_mm;
  await page.waitForFunction(() => /It clears its neighbours from/.test(document.querySelector("#placing").textContent));
  const told = /It clears its neighbours from (\d+\.\d\d) mm \(.*?cork.*?\) to (\d+\.\d\d) mm \(.*?collar/.exec(await placed(page));
  assert.ok(Math.abs(Number(told[2]) - last) < 0.03, `${told[2]} for ${last}`);
  assert.ok(Math.abs(Number(told[1]) - alto.cork.to_station_mm - alto.limits.least_clearance_mm) < 0.03, `${told[1]} begins beyond the cork`);
  assert.ok((await page.locator(".ink-stretch").count()) === 1, "and drawn along the tube");

  const at = await placeOf(page, "brace");
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  for (let step = 1; step <= 12; step += 1) await page.mouse.move(at.x + step * 8, at.y + step * 10);
  await rests(page);
  assert.match(await placed(page), /It goes no farther: .*collar/);
  assert.ok(Math.abs((await stationOf(page)) + (to - from) - last) < 0.03, await placed(page));
  await page.mouse.up();
  await settled(page);
  assert.ok(Math.abs(Number(await field(page, "brace.to_station_mm")) - last) < 0.03);
  assert.ok(Math.abs(Number(await field(page, "brace.to_station_mm")) - Number(await field(page, "brace.from_station_mm")) - (to - from)) < 1e-6, "it keeps its length");

  // the field's own range, by keyboard from the view
  await page.locator("#canvas").focus();
  await page.keyboard.press("Enter");
  for (let presses = 0; presses < 95; presses += 1) await page.keyboard.press("PageDown");
  await rests(page);
  assert.match(await placed(page), /^Brace: 10\.00 to 86\.00 mm\. It goes no farther: the field ranges from 10\.00 to 474\.00 mm\./);
  await page.keyboard.press("Escape");
  await settled(page);
  assert.ok(Math.abs(Number(await field(page, "brace.to_station_mm")) - last) < 0.03);
  noFaults(faults);
  await close();
});

test("a reload in the middle of a drag loses nothing, and the part is where it was", async () => {
  const { page, faults, close } = await openClash();
  await page.waitForFunction(() => document.documentElement.dataset.kept === "all");
  const whole = await rows(page);
  const at = await placeOf(page, "badge");
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  for (const by of [20, 60, 90]) await page.mouse.move(at.x + by, at.y - by * 0.3);
  await rests(page);
  assert.notDeepEqual(await rows(page), whole);
  await page.reload();
  await settled(page);
  await page.mouse.up();
  assert.deepEqual(await rows(page), whole);
  assert.match(await page.textContent(".step-said"), /^alto_clash\.json was opened$/, "a part that was not put down is no change");
  await openCard(page, "badge");
  assert.equal(await field(page, "badge.station_mm"), String(job("alto_clash").badge.station_mm));
  assert.equal(await stationOf(page), job("alto_clash").badge.station_mm);
  noFaults(faults);
  await close();
});

test("a drag that begins along the tube moves along only, and says so; one that begins slantwise goes both ways", async () => {
  const { page, faults, close } = await openClash();
  const was = job("alto_clash").badge;
  const at = await placeOf(page, "badge");
  const drag = async (slope) => {
    await page.mouse.move(at.x, at.y);
    await page.mouse.down();
    for (const by of [6, 14, 24, 40]) await page.mouse.move(at.x + by, at.y - by * slope);
    await rests(page);
  };
  // no hand draws a straight line
  await drag(0.1);
  assert.equal(Number(await field(page, "badge.azimuth_deg")), was.azimuth_deg);
  assert.ok(Number(await field(page, "badge.station_mm")) > was.station_mm + 2);
  assert.match(await placed(page), /It moves along only, as you began; begin slantwise to move it both ways\./);
  await page.keyboard.press("Escape");
  await page.mouse.up();
  await settled(page);
  await drag(0.6);
  assert.ok(Number(await field(page, "badge.azimuth_deg")) > was.azimuth_deg + 2);
  assert.ok(Number(await field(page, "badge.station_mm")) > was.station_mm + 2);
  assert.doesNotMatch(await placed(page), /only, as you began/);
  await page.keyboard.press("Escape");
  await page.mouse.up();
  await settled(page);
  noFaults(faults);
  await close();
});

test("what the job keeps on top moves along only, and says so; inches are told as inches", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.locator('#unit-switch input[value="in"]').check();
  await openCard(page, "vent");
  assert.match(await placed(page), /The vent stays on top of the tube and moves along it/);
  assert.match(await placed(page), /^Octave vent with its pad: 2\.598 in\./, "66 mm");
  await page.getByRole("button", { name: "Pick it up" }).click();
  await page.keyboard.press("ArrowUp");
  await rests(page);
  assert.match(await placed(page), /^Octave vent with its pad: 2\.598 in\./, "it does not go round");
  for (let presses = 0; presses < 3; presses += 1) await page.keyboard.press("PageUp");
  await rests(page);
  assert.match(await placed(page), /^Octave vent with its pad: 2\.717 in\./, "69 mm");
  // whoever turns to something else has put it down
  await openCard(page, "order");
  await settled(page);
  await openCard(page, "vent");
  assert.equal(await field(page, "vent.station_mm"), "2.717");
  noFaults(faults);
  await close();
});

/** Shares of colour, four to a point, in which two pictures clearly differ. Two surfaces in one place may differ by their order. */
function differing(page, pictures) {
  return page.evaluate(async (files) => {
    const [one, other] = await Promise.all(
      files.map(async (file) => {
        const image = await createImageBitmap(new Blob([Uint8Array.from(file)]));
        const drawn = new OffscreenCanvas(image.width, image.height).getContext("2d");
        drawn.drawImage(image, 0, 0);
        return drawn.getImageData(0, 0, image.width, image.height).data;
      }),
    );
    return one.length === other.length ? one.filter((value, at) => Math.abs(value - other[at]) > 16).length : Infinity;
  }, pictures.map((picture) => [...picture]));
}

test("what stands still is drawn once while a part is held, and the picture is the one in which all is drawn", async () => {
  // few enough that no machine is judged too slow for the full fineness
  const steps = 3;
  /** Drags the brace; `before` lays hands on the page first, `shown` is a keep-out that is to be seen, `compared` another picture. */
  const drag = async ({ before, shown, compared } = {}) => {
    const { page, faults, close } = await openPage(chromium, {
      before: async (tab) => {
        await tab.addInitScript(() => {
          window.counted = { copies: 0, triangles: 0 };
          const { blitFramebuffer, drawElements } = WebGL2RenderingContext.prototype;
          WebGL2RenderingContext.prototype.blitFramebuffer = function (...given) {
            window.counted.copies += 1;
            return blitFramebuffer.apply(this, given);
          };
          WebGL2RenderingContext.prototype.drawElements = function (...given) {
            window.counted.triangles += given[1] / 3;
            return drawElements.apply(this, given);
          };
        });
        if (before !== undefined) await tab.addInitScript(before);
      },
    });
    await page.locator("#view[data-chord-mm='0.02']").waitFor({ state: "attached" });
    // what is written over the neck comes when it is known
    await page.evaluate(() => (document.querySelector("#view-ink").style.visibility = "hidden"));
    if (shown !== undefined) await page.locator("#tray").getByRole("checkbox", { name: shown }).check();
    const at = await placeOf(page, "brace");
    await page.mouse.move(at.x, at.y);
    await page.mouse.down();
    await page.mouse.move(at.x - 8, at.y);
    await rests(page);
    const first = await page.evaluate(() => ({ ...window.counted }));
    for (let step = 1; step <= steps; step += 1) {
      await page.mouse.move(at.x - 8 - 4 * step, at.y);
      await rests(page);
      await page.waitForTimeout(60);
    }
    const last = await page.evaluate(() => ({ ...window.counted }));
    const picture = await page.locator("#canvas").screenshot();
    await page.mouse.up();
    const other = compared === undefined ? 0 : await differing(page, [picture, compared]);
    noFaults(faults);
    await close();
    return { picture, other, copies: last.copies - first.copies, triangles: last.triangles - first.triangles };
  };
  const kept = await drag();
  // a browser that does not copy depths between canvas and picture answers with an error
  const whole = await drag({ compared: kept.picture, before: () => (WebGL2RenderingContext.prototype.getError = () => WebGL2RenderingContext.INVALID_OPERATION) });
  assert.ok(kept.copies >= steps, `${kept.copies} copies in ${steps} steps`);
  assert.ok(kept.triangles < whole.triangles / 5, `${kept.triangles} triangles, ${whole.triangles} where all is drawn`);
  assert.ok(whole.other < 30, `${whole.other} of the picture differs`);
  const through = await drag({ shown: "Mouthpiece shank" });
  assert.equal(through.copies, 0, "what is seen through is drawn after what moves");
});

test("a view whose graphics were taken away is drawn again when they are given back, in the hand and at rest", async () => {
  const { page, faults, close } = await openPage(chromium);
  await page.locator("#view[data-chord-mm='0.02']").waitFor({ state: "attached" });
  const atRest = async () => {
    await page.locator("#canvas[data-rests]").waitFor();
    return page.locator("#canvas").screenshot();
  };
  const loseAndRestore = () =>
    page.evaluate(async () => {
      const canvas = document.querySelector("#canvas");
      const graphics = canvas.getContext("webgl2").getExtension("WEBGL_lose_context");
      const once = (name) => new Promise((resolve) => canvas.addEventListener(name, resolve, { once: true }));
      const lost = once("webglcontextlost");
      graphics.loseContext();
      await lost;
      // they can be given back once all have heard that they are gone
      await new Promise((resolve) => setTimeout(resolve, 100));
      const restored = once("webglcontextrestored");
      graphics.restoreContext();
      await restored;
    });
  // what is written over the neck comes when it is known
  await page.evaluate(() => (document.querySelector("#view-ink").style.visibility = "hidden"));
  const at = await placeOf(page, "brace");
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  await page.mouse.move(at.x - 16, at.y);
  await rests(page);
  await page.waitForTimeout(300);
  const held = await page.locator("#canvas").screenshot();
  await loseAndRestore();
  // there and back: what stands still is kept anew
  for (const step of [20, 16]) {
    await page.mouse.move(at.x - step, at.y);
    await rests(page);
  }
  await page.waitForTimeout(300);
  assert.ok((await differing(page, [await page.locator("#canvas").screenshot(), held])) < 30, "all of it, in the hand");
  await page.mouse.up();
  await page.mouse.move(5, 5);
  await settled(page);
  await page.locator("#view[data-chord-mm='0.02']").waitFor({ state: "attached" });
  // the last of the finer meshes, and the names
  await page.waitForTimeout(1000);
  const before = await atRest();
  await loseAndRestore();
  assert.ok((await differing(page, [await atRest(), before])) < 30, "the neck is there again");
  noFaults(faults);
  await close();
});
