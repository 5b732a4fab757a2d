// npm run bench: how long the maker waits, measured in Chromium on this machine, and how much a visitor loads.
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { WASM_FILE, corePackage } from "./core.mjs";
import { page } from "./page.mjs";
import { DIST, PKG, ROOT } from "./paths.mjs";
import { serve } from "./serve.mjs";
import { CHROMIUM_FLAGS, chromium as chromiumPath, nodePackages } from "./setup.mjs";
import { main } from "./steps.mjs";
import { placeOf } from "../../tests/browser/hands.mjs";

const FINE_CHORD_MM = 0.02;

const sorted = (values) => [...values].sort((a, b) => a - b);
const median = (values) => sorted(values)[Math.floor(values.length / 2)];
const nearWorst = (values) => sorted(values)[Math.min(values.length - 1, Math.floor(values.length * 0.95))];

/** Runs in the browser: times the package itself, as any page would use it. */
async function timeCore({ job, chordMm, rounds }) {
  const now = () => performance.now();
  const begin = now();
  const { default: init, Neck } = await import("/pkg/neckwright.js");
  await init();
  const started = now() - begin;
  const neck = new Neck();
  const meshAll = (parts) => parts.forEach((part) => neck.mesh(part, chordMm));
  /** One change by hand, the list and the fine meshes of whatever it touched. */
  const change = (alter) => {
    const changed = structuredClone(job);
    alter(changed);
    const from = now();
    const result = neck.setJob(changed);
    if (!result.ok) throw new Error(JSON.stringify(result.violations));
    neck.parts();
    neck.summary();
    neck.clearances();
    meshAll(result.rebuilt);
    return { took: now() - from, rebuilt: result.rebuilt.length };
  };
  const series = (alter) => {
    // from the job itself, so that each series rebuilds what its own change touches
    change(() => undefined);
    return Array.from({ length: rounds }, (_, round) => change((changed) => alter(changed, 0.01 * ((round % 5) + 1))));
  };
  const first = change(() => undefined);
  const whole = series((changed, by) => (changed.bore.entry_diameter_mm += by));
  const brace = series((changed, by) => (changed.brace.thickness_mm += by));
  const saddle = series((changed, by) => (changed.saddle.station_mm += by));
  /** A part moved by hand: its neck and its list in every pose, without meshes. */
  const moved = (alter) => {
    const base = structuredClone(job);
    base.badge = { station_mm: 84, azimuth_deg: 90, length_mm: 8, width_mm: 6, thickness_mm: 0.6, metal: job.saddle.metal };
    neck.setJob(base);
    neck.clearances();
    return Array.from({ length: 3 * rounds }, (_, round) => {
      const changed = structuredClone(base);
      alter(changed, 0.1 * ((round % 7) + 1));
      const from = now();
      const result = neck.setJob(changed);
      neck.clearances();
      if (!result.ok) throw new Error(JSON.stringify(result.violations));
      return now() - from;
    });
  };
  const lists = {
    vent: moved((changed, by) => (changed.vent.station_mm += by)),
    saddle: moved((changed, by) => (changed.saddle.station_mm += by)),
    nothing: Array.from({ length: rounds }, () => {
      const fresh = new Neck();
      const from = now();
      fresh.setJob(job);
      fresh.clearances();
      const took = now() - from;
      fresh.free();
      return took;
    }),
  };
  neck.setJob(job);
  const angle = neck.openAngleDeg();
  const atAngle = Array.from({ length: rounds }, (_, round) => {
    const from = now();
    neck.clearancesAt((angle * (round + 0.5)) / rounds);
    return now() - from;
  });
  const step = Array.from({ length: rounds }, () => {
    change((changed) => (changed.brace.thickness_mm += 0.01 * Math.random()));
    const from = now();
    neck.assemblyStep();
    return now() - from;
  });
  return { started, first, whole, brace, saddle, lists, atAngle, step };
}

/**
 * Runs in the browser: a part moved by hand, its neck and its list in every pose, without meshes, as the page's own worker with
 * its helper takes for it.
 */
async function timeTwoCores({ job, script, rounds }) {
  const base = structuredClone(job);
  base.badge = { station_mm: 84, azimuth_deg: 90, length_mm: 8, width_mm: 6, thickness_mm: 0.6, metal: job.saddle.metal };
  const worker = new Worker(script, { type: "module" });
  const waiting = new Map();
  worker.onmessage = ({ data }) => waiting.get(data.kind)?.(data);
  const heard = (kind) => new Promise((resolve) => waiting.set(kind, resolve));
  const rests = heard("joints");
  worker.postMessage({ kind: "build", id: 0, job: base });
  await rests;
  // the helper is started now
  await new Promise((resolve) => setTimeout(resolve, 3000));
  const place = async (changed) => {
    const told = heard("placed");
    worker.postMessage({ kind: "place", id: 1, job: changed, flat: false });
    const { held, violations } = await told;
    if (held === undefined) throw new Error(JSON.stringify(violations));
    return held.milliseconds;
  };
  const moved = async (alter) => {
    await place(base);
    const took = [];
    for (let round = 0; round < 3 * rounds; round += 1) {
      const changed = structuredClone(base);
      alter(changed, 0.1 * ((round % 7) + 1));
      took.push(await place(changed));
    }
    return took;
  };
  const lists = {
    brace: await moved((changed, by) => (changed.brace.from_station_mm += by)),
    guide: await moved((changed, by) => (changed.guide.station_mm += by)),
    badge: await moved((changed, by) => (changed.badge.station_mm += by)),
    vent: await moved((changed, by) => (changed.vent.station_mm += by)),
    saddle: await moved((changed, by) => (changed.saddle.station_mm += by)),
  };
  worker.terminate();
  return lists;
}

const wide = (browser, more) => browser.newContext({ viewport: { width: 1440, height: 900 }, reducedMotion: "reduce", ...more });

async function timePage(browser, url, rounds) {
  const ready = [];
  const answered = [];
  for (let round = 0; round < rounds; round += 1) {
    const context = await wide(browser);
    const tab = await context.newPage();
    // the browser is busy with its own new window, which a maker's is not any more
    await tab.waitForTimeout(1000);
    const begin = performance.now();
    await tab.goto(url);
    await tab.waitForSelector("#view[data-chord-mm]", { state: "attached" });
    ready.push(performance.now() - begin);
    await tab.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });
    await tab.click('[data-key="card-brace"]');
    answered.push(
      await tab.evaluate(
        (path) =>
          new Promise((resolve) => {
            const field = document.querySelector(`[data-path="${path}"]`);
            field.value = String(Number(field.value) + 0.1);
            const begin = performance.now();
            new MutationObserver((_, observer) => {
              observer.disconnect();
              resolve(performance.now() - begin);
            }).observe(document.querySelector("#list"), { childList: true, characterData: true, subtree: true });
            field.dispatchEvent(new Event("input", { bubbles: true }));
          }),
        "brace.thickness_mm",
      ),
    );
    await context.close();
  }
  return { ready, answered };
}

/** Steps of a drag that are timed. */
const DRAG_STEPS = 200;

/**
 * Steps of a hand that holds something: from the pointer's own time stamp to the frame that shows what follows it. `name` is
 * what the page tells on its root while it is behind the hand, which is `busy`; `place` says where the hand is at each step.
 */
async function timeSteps(tab, grip, name, busy, place) {
  await tab.evaluate(
    ([selector, key, behind]) => {
      window.took = [];
      let moved;
      // the page may answer before it is told of the move with its frame
      document.querySelector(selector).addEventListener("pointerrawupdate", (event) => (moved = event.timeStamp), true);
      new MutationObserver(() => {
        if (document.documentElement.dataset[key] === behind || moved === undefined) return;
        const from = moved;
        moved = undefined;
        // the view draws with this frame, and has asked for it before
        requestAnimationFrame(() => {
          const { port1, port2 } = new MessageChannel();
          port1.onmessage = () => {
            window.took.push(performance.now() - from);
            window.shown?.();
          };
          port2.postMessage(undefined);
        });
      }).observe(document.documentElement, { attributes: true, attributeFilter: [`data-${key}`] });
    },
    [grip, name, busy],
  );
  const [first, ...others] = Array.from({ length: DRAG_STEPS + 2 }, (_, step) => place(step));
  await tab.mouse.move(first.x, first.y);
  await tab.mouse.down();
  for (const { x, y } of others) {
    // asked once and not over and over: asking keeps the page from its work
    const shown = tab.evaluate(
      () =>
        new Promise((resolve) => {
          const late = setTimeout(resolve, 2000);
          window.shown = () => {
            clearTimeout(late);
            resolve();
          };
        }),
    );
    await tab.mouse.move(x, y);
    await shown;
  }
  const took = await tab.evaluate(() => window.took);
  await tab.mouse.up();
  return took;
}

/** A part dragged in the view, to the frame that shows neck and list with the part there. */
async function timeDrag(browser, url, part) {
  const context = await wide(browser);
  const tab = await context.newPage();
  await tab.goto(url);
  await tab.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });
  await tab.waitForTimeout(3000);
  const at = await placeOf(tab, part);
  const took = await timeSteps(tab, "#canvas", "placing", "follows", (step) => ({ x: step === 0 ? at.x : at.x - 8 - 2 * Math.abs(((step - 1) % 20) - 10), y: at.y }));
  await context.close();
  return took;
}

/** A point of a bore dragged in its room, to the frame that shows words and shifts for it. */
async function timeBore(browser, url) {
  const context = await wide(browser);
  const tab = await context.newPage();
  await tab.goto(`${url}#bore`);
  const point = tab.locator('#bore [data-point="3"]');
  await point.waitFor();
  await tab.waitForTimeout(3000);
  await point.scrollIntoViewIfNeeded();
  const box = await point.boundingBox();
  const took = await timeSteps(tab, "#bore .plot-picture[role=group]", "bore", "asked", (step) => ({ x: box.x + box.width / 2, y: box.y + box.height / 2 + 2 * (step % 20) }));
  await context.close();
  return took;
}

/** Edits before memory is read for the first time, by when the helper is there and buffers have grown, and after that until it is read again. */
const EDITS_FIRST = 300;
const EDITS_MORE = 1000;
/** What the way back takes: every one of those edits can be taken back, and each is a job that shares with the one before it what was not touched. */
const MOST_GROWN_MB = 2;

/** Memory in use after some edits, each a change of its own, and after many more, MB: the page's own once all waste is collected, and the core's. */
async function weighMemory(browser, url) {
  const context = await wide(browser, { serviceWorkers: "block" });
  const tab = await context.newPage();
  // the core's memory belongs to its worker, which shows it to nobody
  await tab.route(/\/worker-[^/]*\.js$/, async (route) => {
    const answer = await route.fetch();
    const watch = "for (const how of ['instantiate', 'instantiateStreaming']) { const was = WebAssembly[how]; WebAssembly[how] = async (...given) => { const made = await was.apply(WebAssembly, given); self.coreMemory = (made.instance ?? made).exports.memory; return made; }; }\n";
    await route.fulfill({ response: answer, body: watch + (await answer.text()) });
  });
  await tab.goto(url);
  await tab.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });
  await tab.click('[data-key="card-brace"]');
  const session = await context.newCDPSession(tab);
  const edit = (count) =>
    tab.evaluate(async (edits) => {
      const field = () => document.querySelector('[data-path="brace.thickness_mm"]');
      const rests = () => document.documentElement.dataset.work === "idle";
      for (let at = 0; at < edits; at += 1) {
        const input = field();
        input.focus();
        input.value = String(1 + 0.01 * ((at % 9) + 1));
        input.dispatchEvent(new Event("input", { bubbles: true }));
        input.blur();
        do await new Promise((resolve) => setTimeout(resolve, 5));
        while (!rests());
      }
    }, count);
  const read = async () => {
    await tab.waitForSelector('#view[data-chord-mm="0.02"]', { state: "attached" });
    await tab.waitForTimeout(2000);
    for (let round = 0; round < 3; round += 1) await session.send("HeapProfiler.collectGarbage");
    const { usedSize } = await session.send("Runtime.getHeapUsage");
    return { page: usedSize / 1e6, core: (await tab.workers()[0].evaluate(() => self.coreMemory.buffer.byteLength)) / 1e6 };
  };
  await edit(EDITS_FIRST);
  const first = await read();
  await edit(EDITS_MORE);
  const last = await read();
  await context.close();
  return { first, last };
}

await main(async () => {
  await nodePackages();
  await corePackage();
  await page();
  const executablePath = await chromiumPath();
  const { chromium } = await import("playwright-core");
  const server = await serve({ "/": DIST, "/pkg/": PKG }, 0);
  const browser = await chromium.launch({ executablePath, args: CHROMIUM_FLAGS });
  try {
    const job = JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "alto.json"), "utf8"));
    const tab = await browser.newPage();
    await tab.goto(`${server.url}/icon.svg`);
    const core = await tab.evaluate(timeCore, { job, chordMm: FINE_CHORD_MM, rounds: 20 });
    const [script] = readdirSync(join(DIST, "assets")).filter((name) => /^worker-[^-]+\.js$/.test(name));
    const lists = await tab.evaluate(timeTwoCores, { job, script: `/assets/${script}`, rounds: 20 });
    await tab.close();
    const { ready, answered } = await timePage(browser, `${server.url}/`, 7);
    const dragged = { brace: await timeDrag(browser, `${server.url}/`, "brace"), saddle: await timeDrag(browser, `${server.url}/`, "saddle") };

    const bore = await timeBore(browser, `${server.url}/`);

    const memory = await weighMemory(browser, `${server.url}/`);

    const zipped = (file) => gzipSync(readFileSync(file), { level: 9 }).length / 1000;
    const scripts = readdirSync(join(DIST, "assets")).filter((name) => name.endsWith(".js") && !name.startsWith("worker-"));
    const html = readFileSync(join(DIST, "index.html"), "utf8");
    const first = scripts.filter((name) => html.includes(`assets/${name}"`));
    const late = scripts.filter((name) => !first.includes(name));
    const weighed = (names) => names.reduce((sum, name) => sum + zipped(join(DIST, "assets", name)), 0);
    const took = (runs) => runs.map((run) => run.took);
    const rows = [
      ["core: loaded and started", [core.started], undefined, "ms"],
      ["core: alto, first build, list and fine meshes", [core.first.took], undefined, "ms"],
      [`core: alto rebuilt (bore; ${core.whole[0].rebuilt} parts), list and fine meshes`, took(core.whole), 150, "ms"],
      [`core: brace changed (${core.brace[0].rebuilt} parts), list and fine meshes`, took(core.brace), undefined, "ms"],
      [`core: saddle moved (${core.saddle[0].rebuilt} parts), list and fine meshes`, took(core.saddle), undefined, "ms"],
      ["core: list at one angle of the key", core.atAngle, undefined, "ms"],
      ["list with swing, two cores: brace moved", lists.brace, 16, "ms", nearWorst],
      ["list with swing, two cores: guide moved", lists.guide, 16, "ms", nearWorst],
      ["list with swing, two cores: badge moved", lists.badge, 16, "ms", nearWorst],
      ["list with swing, two cores: vent moved (and the key with it)", lists.vent, 16, "ms", nearWorst],
      ["list with swing, two cores: saddle, posts and key moved", lists.saddle, 40, "ms", nearWorst],
      ["list with swing, one core: vent moved", core.lists.vent, undefined, "ms"],
      ["list with swing, one core: saddle, posts and key moved", core.lists.saddle, undefined, "ms"],
      ["list with swing: from nothing, solids included", core.lists.nothing, 60, "ms"],
      ["core: STEP of the whole neck", core.step, 300, "ms"],
      ["page: ready from loopback, neck drawn", ready, 1500, "ms"],
      ["page: brace changed, keystroke to list", answered, undefined, "ms"],
      [`page: brace dragged, hand to neck and list (${dragged.brace.length} steps)`, dragged.brace, 33, "ms", nearWorst],
      [`page: saddle, posts and key dragged (${dragged.saddle.length} steps)`, dragged.saddle, 60, "ms", nearWorst],
      [`page: point of a bore dragged, hand to words and shifts (${bore.length} steps)`, bore, 60, "ms"],
      [`memory: page, after ${EDITS_FIRST} edits`, [memory.first.page], undefined, "MB"],
      [`memory: page, grown by ${EDITS_MORE} more edits`, [memory.last.page - memory.first.page], MOST_GROWN_MB, "MB"],
      [`memory: core, after ${EDITS_FIRST} edits`, [memory.first.core], undefined, "MB"],
      [`memory: core, grown by ${EDITS_MORE} more edits`, [memory.last.core - memory.first.core], 0, "MB"],
      ["load: wasm, gzip", [zipped(join(PKG, WASM_FILE))], 600, "kB"],
      ["load: page scripts, gzip", [weighed(first)], 250, "kB"],
      ["load: scripts of help and rooms, when asked for, gzip", [weighed(late)], undefined, "kB"],
    ];
    process.stdout.write(`\n${"".padEnd(72)}${"median".padStart(8)}${"p95".padStart(8)}${"limit".padStart(8)}\n`);
    for (const [what, values, limit, unit, judged = median] of rows) {
      const cell = (value) => (value === undefined ? "" : value.toFixed(unit === "MB" ? 1 : 0)).padStart(8);
      const word = limit === undefined ? "" : judged(values) <= limit ? "  within" : "  OVER";
      process.stdout.write(`${`${what}, ${unit}`.padEnd(72)}${cell(median(values))}${cell(values.length > 1 ? nearWorst(values) : undefined)}${cell(limit)}${word}\n`);
    }
  } finally {
    await browser.close();
    await server.close();
  }
});
