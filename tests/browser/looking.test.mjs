// Looking at the neck: cut open, one part alone, from its sides, and with distances measured on it.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { angleMeasured, difference, enter, noFaults, openCard, openPage, PHONE, pixelsOf, ROOT, settled, startBrowser } from "./open_page.mjs";

let chromium;
before(async () => {
  chromium = await startBrowser();
});
after(() => chromium.close());

const alto = JSON.parse(readFileSync(join(ROOT, "examples", "jobs", "alto.json"), "utf8"));
/** Bore of the alto at a station of its cone: both end diameters of a frustum differ by twice its length times the tangent of the half-angle. */
const boreMm = (stationMm) => alto.bore.entry_diameter_mm + 2 * stationMm * Math.tan((alto.bore.half_angle_deg * Math.PI) / 180);
/** Length of its centreline: straight pieces, and arcs of their angle times their radius. */
const lengthMm = alto.centreline.pieces.reduce((sum, piece) => sum + (piece.straight_mm ?? (Math.abs(piece.bend_deg) * Math.PI * piece.radius_mm) / 180), 0);

/** All finer meshes are there: the joints are measured after the last of them. */
const fine = async (page) => {
  await page.waitForSelector('#view[data-chord-mm="0.02"]');
  await page.waitForFunction(() => {
    const word = document.querySelector('[data-key="chapter-joints"] .word')?.textContent;
    return word !== undefined && word !== "being measured …";
  });
};
const choose = (page, name, value) => page.locator(`input[name="${name}"][value="${value}"]`).check({ force: true });
/** The view has drawn what was asked of it: without movement that is the next frame, and names and marks come a moment after it. */
const drawn = async (page) => {
  await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))));
  await page.waitForSelector("#canvas[data-rests]");
};
const picture = (page) => page.locator("#canvas").screenshot();
const measured = (page) => page.textContent("#measured");

async function openLooking(page) {
  if (await page.isVisible("#start")) await page.click("text=Go on with this alto");
  await fine(page);
  // names lie over the picture
  await page.uncheck(".names-tick input");
  await page.click('[aria-controls="looking"]');
}

/** Hides every part but these. */
async function hideAllBut(page, ...kept) {
  for (const box of await page.locator('#tray [data-part] input[type="checkbox"]').all()) {
    const id = await box.evaluate((element) => element.closest("[data-part]").dataset.part);
    await box.setChecked(kept.includes(id));
  }
}

async function cutAcross(page, stationMm) {
  await choose(page, "cut", "across");
  await page.fill("#cut-station", String(stationMm));
  await page.waitForFunction((station) => document.querySelector(".figures dd, #looking .figures dd") !== null && document.querySelector("#looking .figures dd").textContent.startsWith(station), stationMm.toFixed(3));
  await page.click("text=Face the cut");
  await drawn(page);
}

/** Millimetres a pixel, by the measure in the corner of the view. */
async function mmPerPx(page) {
  const [d, text] = await page.evaluate(() => [document.querySelector(".ink-measure").getAttribute("d"), document.querySelector(".ink-measure-text").textContent]);
  return Number.parseFloat(text) / Number(/h([\d.]+)/.exec(d)[1]);
}

/** The pixels of a picture along a line, each as [red, green, blue]. */
async function pixelsAlong(page, png, from, to, count) {
  return page.evaluate(
    ([{ data, width, height }, [ax, ay], [bx, by], steps]) =>
      Array.from({ length: steps }, (_, step) => {
        const share = step / (steps - 1);
        // the pixel that holds the point: its own middle lies half a pixel on
        const [x, y] = [Math.floor(ax + (bx - ax) * share), Math.floor(ay + (by - ay) * share)];
        if (x < 0 || y < 0 || x >= width || y >= height) return [0, 0, 0];
        const first = 4 * (y * width + x);
        return [...data.slice(first, first + 3)];
      }),
    [await pixelsOf(page, png), from, to, count],
  );
}

/** Whether a pixel is of a cut face: the metal's own colour, or the hatch over it, or between the two. */
function isFace([r, g, b], [mr, mg, mb]) {
  const ink = [0x2a, 0x28, 0x25];
  const metal = [mr, mg, mb];
  const pixel = [r, g, b];
  const along = metal.map((value, channel) => ink[channel] - value);
  const share = pixel.reduce((sum, value, channel) => sum + (value - metal[channel]) * along[channel], 0) / along.reduce((sum, value) => sum + value * value, 0);
  const off = Math.hypot(...pixel.map((value, channel) => value - metal[channel] - share * along[channel]));
  return share > -0.03 && share < 0.9 && off < 14;
}

const rgb = (colour) => [1, 3, 5].map((from) => Number.parseInt(colour.slice(from, from + 2), 16));
const colourOf = async (page, part) => rgb(await page.locator(`[data-part="${part}"] .swatch`).evaluate((swatch) => swatch.style.getPropertyValue("--metal")));

/** The cut face of the tube alone, square to the eye in the middle of the view: filled from the bore to the outside, all round. */
async function holdsWall(page, bore, outside) {
  const scale = await mmPerPx(page);
  const { x, y, width, height } = await page.locator("#canvas").boundingBox();
  // a picture begins with the pixel in which the canvas does; what is drawn on it begins with the nearest whole one
  const [across, down] = [Math.round(x) - Math.floor(x) + width / 2, Math.round(y) - Math.floor(y) + height / 2];
  const png = await picture(page);
  const metal = await colourOf(page, "tube");
  const reach = Math.ceil((outside / 2 + 2) / scale);
  for (const deg of [0, 37, 90, 143, 180, 217, 270, 323]) {
    const [cos, sin] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
    const pixels = await pixelsAlong(page, png, [across, down], [across + reach * cos, down - reach * sin], reach + 1);
    const middle = Math.round((bore + outside) / 4 / scale);
    assert.ok(pixels.slice(middle - 1, middle + 2).every((pixel) => isFace(pixel, metal)), `${deg} degrees: filled in the middle of the wall`);
    const outer = pixels.findIndex((pixel, at) => at > middle && !isFace(pixel, metal));
    const inner = pixels.findLastIndex((pixel, at) => at < middle && !isFace(pixel, metal));
    // the edge lies between two pixels; the outline and the smoothing of edges may take or give another on each side of it
    assert.ok(Math.abs(outer - 0.5 - outside / 2 / scale) <= 2, `${deg} degrees: outside at ${outer}, should be ${outside / 2 / scale}`);
    assert.ok(Math.abs(inner + 0.5 - bore / 2 / scale) <= 2, `${deg} degrees: bore at ${inner}, should be ${bore / 2 / scale}`);
  }
}

test("cut across, the wall is filled from the bore to the outside, as the cone of the job has them", async () => {
  // tall, so that the wall is some twenty pixels
  const { page, faults, close } = await openPage(chromium, { viewport: { width: 1440, height: 1800 } });
  await openLooking(page);
  await hideAllBut(page, "tube");
  const station = 45;
  await cutAcross(page, station);
  const bore = boreMm(station);
  const outside = bore + 2 * alto.tube.wall_mm;
  assert.deepEqual(await page.$$eval("#looking .figures dd", (values) => values.map((value) => value.textContent)), [
    `45.000 mm of ${lengthMm.toFixed(3)} mm`,
    `${bore.toFixed(3)} mm`,
    `${outside.toFixed(3)} mm`,
    `${alto.tube.wall_mm.toFixed(3)} mm`,
  ]);
  assert.match(await page.textContent("#cut-says"), /^Cut open across at station 45\.00 mm; what lies towards the tenon is taken away\. One part is cut:$/);
  assert.deepEqual(await page.$$eval(".cut-parts li span:first-of-type", (names) => names.map((name) => name.textContent)), ["neck tube"]);

  await holdsWall(page, bore, outside);
  noFaults(faults);
  await close();
});

test("a bore that was measured is cut as it was measured", async () => {
  const { page, faults, close } = await openPage(chromium, { viewport: { width: 1440, height: 1800 } });
  const job = structuredClone(alto);
  // a cone with a bulge of four tenths at one measured station, where the smooth bore goes through the measured diameter
  const station = 45;
  const bulgeMm = 0.4;
  job.bore = { table: [0, 15, 30, station, 60, 90, 120, Math.floor(lengthMm)].map((station_mm) => ({ station_mm, diameter_mm: Number((boreMm(station_mm) + (station_mm === station ? bulgeMm : 0)).toFixed(3)) })) };
  await page.setInputFiles('input[type="file"]', { name: "measured.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(job)) });
  await page.waitForFunction(() => /measured\.json was opened/.test(document.querySelector(".step-said").textContent));
  await settled(page);
  assert.equal(await page.isVisible("#faults.warning, #faults:not(.warning)") && (await page.locator("#faults:not(.warning)").isVisible()), false, await page.textContent("#faults"));
  await openLooking(page);
  await hideAllBut(page, "tube");
  await cutAcross(page, station);
  const bore = Number((boreMm(station) + bulgeMm).toFixed(3));
  const outside = bore + 2 * alto.tube.wall_mm;
  assert.deepEqual((await page.$$eval("#looking .figures dd", (values) => values.map((value) => value.textContent))).slice(1), [`${bore.toFixed(3)} mm`, `${outside.toFixed(3)} mm`, `${alto.tube.wall_mm.toFixed(3)} mm`]);
  await holdsWall(page, bore, outside);
  noFaults(faults);
  await close();
});

test("very near, as the eye sees, the neck is still drawn and what lies under the cross is picked", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openLooking(page);
  await choose(page, "lines", "seen");
  await page.click('[data-side="right"]');
  await page.getByRole("button", { name: "Pick two points" }).click();
  await drawn(page);
  // the middle of the whole neck is air, its bend goes over it: to the tube first
  const box = await page.locator("#canvas").boundingBox();
  const at = { x: box.x + box.width * 0.42, y: box.y };
  for (let y = box.y + 60; y < box.y + box.height - 60; y += 12) {
    await page.mouse.click(at.x, y);
    if (/^Point 1 lies on the neck tube/.test(await measured(page))) {
      at.y = y;
      break;
    }
    if (/lies on|From point/.test(await measured(page))) await page.getByRole("button", { name: "Clear", exact: true }).click();
  }
  assert.ok(at.y > box.y, await measured(page));
  await page.mouse.move(at.x, at.y);
  // to where the view goes no nearer: a millimetre from edge to edge
  for (let turns = 0; turns < 40; turns += 1) await page.mouse.wheel(0, -200);
  await drawn(page);
  const scale = await mmPerPx(page);
  assert.ok(scale * box.height < 1.01, `${scale * box.height} mm`);
  const bare = await page.evaluate(
    ({ data, width, height }) => [0.2, 0.35, 0.8].flatMap((right) => [0.3, 0.5, 0.7].map((down) => [...data.slice(4 * (Math.floor(down * height) * width + Math.floor(right * width)), 4 * (Math.floor(down * height) * width + Math.floor(right * width)) + 3)])),
    await pixelsOf(page, await picture(page)),
  );
  // brass has far less blue than red; the paper behind it has nearly as much
  for (const [red, , blue] of bare) assert.ok(red - blue > 45, `metal everywhere: ${bare.join("; ")}`);
  await page.mouse.click(at.x, at.y);
  assert.match(await measured(page), /both on the neck tube/);
  const length = Number(/^(\d+\.\d\d) mm/.exec(await measured(page))[1]);
  assert.ok(length < 2, `the point under the pointer has stayed: ${length}`);
  noFaults(faults);
  await close();
});

test("the gap of a joint stays open in the cut", async () => {
  const { page, faults, close } = await openPage(chromium);
  const gapMm = 0.2;
  await openCard(page, "limits");
  await enter(page, "limits.joint_gap_max_mm", "0.3");
  await enter(page, "limits.joint_gap_mm", String(gapMm));
  await openLooking(page);
  await hideAllBut(page, "tube", "tenon");
  // in the middle of the socket
  const station = Number((lengthMm - alto.tenon.length_mm - alto.tenon.collar_length_mm + alto.tenon.socket_depth_mm / 2).toFixed(1));
  await cutAcross(page, station);
  assert.match(await page.textContent("#cut-says"), /2 parts are cut:$/);
  const outside = boreMm(station) + 2 * alto.tube.wall_mm;
  // near enough for the gap to be some pixels wide: the wheel comes nearer at the pointer, which stays where it is
  const view = await page.locator("#canvas").boundingBox();
  const at = { x: view.x + view.width / 2 - outside / 2 / (await mmPerPx(page)), y: view.y + view.height / 2 };
  await page.mouse.move(at.x, at.y);
  for (let turn = 0; turn < 8; turn += 1) await page.mouse.wheel(0, -200);
  await drawn(page);
  const scale = await mmPerPx(page);
  const [tube, tenon] = [await colourOf(page, "tube"), await colourOf(page, "tenon")];
  const reach = Math.round(0.5 / scale);
  const across = await pixelsAlong(page, await picture(page), [at.x - view.x - reach, view.height / 2], [at.x - view.x + reach, view.height / 2], 2 * reach + 1);
  const filled = across.map((pixel) => isFace(pixel, tube) || isFace(pixel, tenon));
  const first = filled.findIndex((face, place) => !face && place > 3);
  const open = filled.slice(first).findIndex((face, place) => face && filled.slice(first + place, first + place + 4).every(Boolean));
  assert.ok(Math.abs(open * scale - gapMm) <= 3 * scale, `open for ${(open * scale).toFixed(3)} mm of ${gapMm}, ${open} pixels`);
  noFaults(faults);
  await close();
});

test("a distance between picked points is what the job says, by keyboard and in both units", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openLooking(page);
  // the cork is a plain cylinder along X, as wide as the shank's bore, and alone it lies in the middle of the view
  await hideAllBut(page, "cork");
  await page.click("text=Pick two points");
  await page.focus("#canvas");
  await page.keyboard.press("l");
  await page.keyboard.press("Enter");
  assert.match(await measured(page), /^Point 1 lies on the cork\. Now pick point 2\.$/);
  await page.keyboard.press("r");
  await page.keyboard.press("Enter");
  const told = await measured(page);
  const [, length] = /^(\d+\.\d\d) mm, both on the cork/.exec(told);
  // no point of the triangles is farther from the true surface than 0.02 mm, and inside it
  assert.ok(Number(length) <= alto.mouthpiece.shank_bore_mm + 0.005 && Number(length) >= alto.mouthpiece.shank_bore_mm - 0.045, told);
  assert.ok(told.includes(`From point 1 to point 2: 0.00 mm along; ${length} mm to the right; 0.00 mm up.`), told);
  assert.ok(told.includes("lie on the triangles shown, within 0.02 mm of the true surfaces"), told);
  await page.waitForSelector(".ink-picked ~ .ink-picked", { state: "attached" });

  // from above and from below it is as far, upwards, and a click is as good as the key
  const box = await page.locator("#canvas").boundingBox();
  for (const key of ["b", "t"]) {
    await page.focus("#canvas");
    await page.keyboard.press(key);
    await drawn(page);
    await page.mouse.click(box.x + box.width / 2, box.y + box.height / 2);
  }
  const [, up] = /; (\d+\.\d\d) mm up\./.exec(await measured(page));
  assert.ok(Math.abs(Number(up) - alto.mouthpiece.shank_bore_mm) <= 0.045);
  await page.locator("#unit-switch input[value=in]").check({ force: true });
  assert.match(await measured(page), new RegExp(`^${(Number(up) / 25.4).toFixed(3)} in, both on the cork`));

  await page.keyboard.press("Escape");
  await page.waitForSelector(".ink-picked", { state: "detached" });
  assert.equal(await measured(page), "Pick point 1.");
  await page.keyboard.press("Escape");
  assert.equal(await measured(page), "");
  assert.equal(await page.getAttribute("text=Pick two points", "aria-pressed"), "false");
  noFaults(faults);
  await close();
});

test("points on a cut face lie in the cut, and what is hidden, faint or cut away is not picked", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openLooking(page);
  await hideAllBut(page, "cork");
  await choose(page, "cut", "bend");
  await page.click("text=Pick two points");
  await drawn(page);
  const box = await page.locator("#canvas").boundingBox();
  const scale = await mmPerPx(page);
  // the middle of the cork's own wall: between the outside of the tube and the shank
  const station = (alto.end_ring.length_mm + alto.cork.to_station_mm) / 2;
  const height = (alto.mouthpiece.shank_bore_mm / 2 + boreMm(station) / 2 + alto.tube.wall_mm) / 2;
  const clickUp = async (mm) => page.mouse.click(box.x + box.width / 2, box.y + box.height / 2 - mm / scale);
  await clickUp(height);
  await clickUp(-height);
  const told = await measured(page);
  assert.match(told, /0\.00 mm to the left; \d+\.\d\d mm down\.Both points lie in the cut face\./);
  assert.ok(Math.abs(Number(/; (\d+\.\d\d) mm down/.exec(told)[1]) - 2 * height) <= 2 * scale, told);

  await choose(page, "cut", "none");
  await page.keyboard.press("Escape");
  await page.uncheck('[data-part="cork"] input');
  await clickUp(0);
  assert.equal(await measured(page), "There is no part at that place.");
  await page.check('[data-part="cork"] input');
  await clickUp(0);
  assert.match(await measured(page), /^Point 1 lies on the cork/);
  await page.keyboard.press("Escape");
  await page.check('[data-part="tube"] input');
  await openCard(page, "tube");
  await page.click('[data-key="only-this"]');
  await page.click('[aria-controls="looking"]');
  await page.click("text=Pick two points");
  await clickUp(0);
  assert.match(await measured(page), /^Point 1 lies on the neck tube/, "the cork before it is faint");
  noFaults(faults);
  await close();
});

test("the nearest points of two parts are those of their row of the list", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openCard(page, "brace");
  await openLooking(page);
  await page.selectOption("#measure-a", "tube");
  await page.selectOption("#measure-b", "brace");
  await page.click("text=Their nearest points");
  assert.match(await measured(page), new RegExp(`^${alto.limits.joint_gap_mm.toFixed(2)} mm, neck tube to brace, at their nearest points`));
  await page.selectOption("#measure-b", "tube");
  await page.click("text=Their nearest points");
  assert.equal(await measured(page), "Choose two different parts.");
  // the points belong to the neck they were measured on
  await page.selectOption("#measure-b", "brace");
  await page.click("text=Their nearest points");
  await enter(page, "brace.width_mm", "7");
  assert.equal(await measured(page), "The neck was changed: the points were let go.");
  noFaults(faults);
  await close();
});

test("one part is shown alone, the others faint, and all come back", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openLooking(page);
  await page.click("#looking >> text=Close");
  await openCard(page, "brace");
  await fine(page);
  // the stretch in which the chosen part is clear is found, and drawn, a moment later
  await page.waitForFunction(() => / from .* to /.test(document.querySelector("#placing .placing-room").textContent));
  await drawn(page);
  const whole = await picture(page);
  await page.focus('[data-key="only-this"]');
  await page.keyboard.press("Enter");
  await drawn(page);
  assert.equal(await page.textContent("#shown .says"), "The brace alone; what else is shown is faint.");
  assert.ok((await difference(page, whole, await picture(page))) > 0.03);
  await page.uncheck('[data-part="rod_loop"] input');
  await page.uncheck('[data-part="guide"] input');
  assert.match(await page.textContent("#shown .says"), /faint\. Hidden: (rod loop, key guide|key guide, rod loop|.*)\.$/);
  await page.click("text=Show all parts");
  await drawn(page);
  assert.equal(await page.textContent("#shown .says"), "");
  assert.ok(await page.isChecked('[data-part="guide"] input'));
  assert.ok((await difference(page, whole, await picture(page))) < 0.001);

  // what is only kept clear is hatched: beside it the same picture has far more edges than a plain tint would
  await page.check('[data-part="receiver"] input');
  await drawn(page);
  assert.ok((await difference(page, whole, await picture(page))) > 0.004);
  noFaults(faults);
  await close();
});

test("every side has its button and its key, and lines may meet in the eye", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openLooking(page);
  const seen = new Map();
  for (const [key, side] of [["l", "left"], ["r", "right"], ["t", "top"], ["b", "below"], ["c", "cork"], ["n", "tenon"]]) {
    await page.click(`[data-side="${side}"]`);
    await drawn(page);
    const byButton = await picture(page);
    await page.focus("#canvas");
    await page.keyboard.press("Home");
    await page.keyboard.press(key);
    await page.focus("#looking-title ~ button");
    await drawn(page);
    await page.focus(`[data-side="${side}"]`);
    assert.ok((await difference(page, byButton, await picture(page))) < 0.001, `${key} shows what the button ${side} does`);
    for (const [other, shot] of seen) assert.ok((await difference(page, shot, byButton)) > 0.01, `${side} is not ${other}`);
    seen.set(side, byButton);
  }
  await choose(page, "lines", "seen");
  await drawn(page);
  assert.ok((await difference(page, seen.get("tenon"), await picture(page))) > 0.01);
  noFaults(faults);
  await close();
});

test("the key goes to where the swing is nearest", async () => {
  const { page, faults, close } = await openPage(chromium);
  const least = /at (\d+\.\d\d°)/.exec(await page.textContent("#key-least"))[1];
  const gap = /(\d+\.\d\d) mm/.exec(await page.textContent("#key-least"))[1];
  assert.equal(await page.textContent("#key-go"), `Go to the nearest, ${least}`);
  await page.focus("#key-go");
  await page.keyboard.press("Enter");
  await angleMeasured(page);
  assert.match(await page.textContent("#key-says"), least === "0.00°" ? /^Key closed/ : new RegExp(`^Key open by ${least} of `));
  assert.match(await page.textContent("#key-least"), new RegExp(`${gap} mm here`));
  noFaults(faults);
  await close();
});

test("a station that is none is told, by the neck's own length, and the cut stays", async () => {
  const { page, faults, close } = await openPage(chromium);
  await openLooking(page);
  await cutAcross(page, 45);
  for (const [typed, told] of [["no", /This is no length/], ["-1", new RegExp(`from 0 to ${lengthMm.toFixed(2)} mm`)], ["900", /the cut stays where it is/]]) {
    await page.fill("#cut-station", typed);
    assert.match(await page.textContent("#cut-fault"), told);
    assert.equal(await page.getAttribute("#cut-station", "aria-invalid"), "true");
    assert.match(await page.textContent("#cut-says"), /station 45\.00 mm/);
  }
  await page.fill("#cut-station", "2 in");
  assert.match(await page.textContent("#cut-says"), /station 50\.80 mm/);
  await page.press("#cut-station", "ArrowUp");
  assert.match(await page.textContent("#cut-says"), /station 50\.90 mm/);
  await page.press("#cut-slider", "ArrowRight");
  assert.match(await page.textContent("#cut-says"), /station 51\.00 mm/);
  assert.equal(await page.getAttribute("#cut-slider", "aria-valuetext"), "51.00 mm from the cork end");
  await settled(page);
  noFaults(faults);
  await close();
});

test("on a phone all of it takes a finger and fits the width", async () => {
  const { page, faults, close } = await openPage(chromium, { viewport: { width: 320, height: PHONE.height }, hasTouch: true, isMobile: true });
  await page.tap('[aria-controls="looking"]');
  await page.locator('input[name="cut"][value="across"]').tap({ force: true });
  await page.waitForSelector("#looking .figures dd");
  for (const control of await page.locator("#looking button:visible, #looking select:visible, #looking input[type=text]:visible, #cut-slider, #shown button, #looking .switch label").all()) {
    assert.ok((await control.boundingBox()).height >= 43.5, await control.evaluate((element) => element.outerHTML));
  }
  assert.ok((await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0);
  noFaults(faults);
  await close();
});
