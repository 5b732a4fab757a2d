// Joins the four rooms: what the panels change goes to the worker, what the worker answers goes to view and panels.
import { byId, el, setAttribute, setHidden, setText } from "./dom.ts";
import { BrokenRecords } from "./keeping/broken.ts";
import { Keeper } from "./keeping/keeper.ts";
import { Offline } from "./keeping/offline.ts";
import { Shelf } from "./keeping/shelf.ts";
import { Variants } from "./keeping/variants.ts";
import { BrokenPanel } from "./panels/broken.ts";
import { CardPanel } from "./panels/card.ts";
import { Doors } from "./panels/doors.ts";
import { ClearancePanel, failingRows, gapText, namer, needText, pairText } from "./panels/clearances.ts";
import { Exports } from "./panels/exports.ts";
import { FindingsPanel, gapsText, placeText } from "./panels/findings.ts";
import { KeyPanel } from "./panels/key.ts";
import { LinkPanel } from "./panels/link.ts";
import { LookingPanel, PartsShown } from "./panels/looking.ts";
import { NewerPanel } from "./panels/newer.ts";
import { StartPanel } from "./panels/start.ts";
import { PlacingPanel, shownSpot, spotText, takenUp } from "./panels/placing.ts";
import { cardOfPath, StatusPanel } from "./panels/status.ts";
import { StepsPanel } from "./panels/steps.ts";
import { Tray } from "./panels/tray.ts";
import { UnrolledPanel } from "./panels/unrolled.ts";
import { VerdictPanel } from "./panels/verdict.ts";
import { tellTaken } from "./panels/ways-out.ts";
import { VariantsPanel } from "./panels/variants.ts";
import { type Bearing, bearingOf } from "./state/bearing.ts";
import { type Bench, chosenJoint, chosenRow, createBench, hear, isUnsaved, keyDegOf, settle, shownList } from "./state/bench.ts";
import { jobName } from "./state/job-file.ts";
import { sameJson } from "./state/json.ts";
import { Comparer } from "./state/comparing.ts";
import { lengthText } from "./state/lengths.ts";
import { type Looking, NOT_MEASURING, type Picked } from "./state/looking.ts";
import { movableOf, outsideAt, type Spot } from "./state/places.ts";
import { Placer } from "./state/placing.ts";
import { ReachSearch } from "./state/reach.ts";
import { RoomSearch } from "./state/room.ts";
import { WaysOut } from "./state/ways-out.ts";
import type { Appearance } from "./view/assembly.ts";
import { layLookingKeys } from "./view/looking-keys.ts";
import type { Place, PlacingHand, PlacingShown, Viewport } from "./view/viewport.ts";
import { Client, Newest, type Thread } from "./worker/client.ts";

/** Names of the workers' scripts beside this one, put in by the build. */
declare const WORKER_NAME: string;
declare const SHOP_WORKER_NAME: string;
declare const BORE_WORKER_NAME: string;
declare const CARD_WORKER_NAME: string;

const bench = createBench();

/** The view is made once the worker runs: making it keeps this thread busy, and a worker needs it to begin. */
let makeView: () => void;
const view = new Promise<void>((resolve) => {
  makeView = resolve;
}).then(openView);

/** What the view is to do as soon as it is there. */
let owedToView: ((viewport: Viewport) => void)[] | undefined = [];
/** The view once it has done all that; none where the browser cannot draw it. */
let seen: Viewport | undefined;
void view.then((viewport) => {
  for (let work = owedToView?.shift(); viewport !== undefined && work !== undefined; work = owedToView?.shift()) drawn(work, viewport);
  owedToView = undefined;
  seen = viewport;
});

/** Does something with the view, after all that was asked of it before; nothing where the browser cannot draw it. */
function inView(work: (viewport: Viewport) => void): void {
  if (owedToView !== undefined) owedToView.push(work);
  else if (seen !== undefined) drawn(work, seen);
}

/** What cannot be drawn keeps nobody from going on: list and fields are right without. */
function drawn(work: (viewport: Viewport) => void, viewport: Viewport): void {
  try {
    work(viewport);
  } catch (error) {
    reportError(error);
  }
}

/** What the panels are still to be told. Meshes that came with it are drawn first: the neck is what the maker waits for. */
let owed: (() => void) | undefined;
function tellOwed(): void {
  const tell = owed;
  owed = undefined;
  tell?.();
}

const workerOf = (name: string) => new Worker(new URL(name, import.meta.url), { type: "module" });
const thread = () => workerOf(WORKER_NAME) as Thread;
const client = new Client(thread, {
  awake: () => makeView(),
  building: () => {
    tellOwed();
    bench.set({ work: "building" });
  },
  built: ({ job, parts, clearances, unrolled, openAngleDeg, axes, warnings, rebuilt, milliseconds }, asked) => {
    // says which meshes are drawn: none yet of this neck
    delete byId("view").dataset["chordMm"];
    tellOwed();
    const { opened, measures: before } = bench.get();
    inView((viewport) => {
      viewport.setTube(unrolled.along);
      viewport.setParts(parts, axes, opened);
    });
    const measures = new Map([...before].filter(([part]) => !rebuilt.includes(part)));
    owed = () => {
      const { good, joints } = bench.get();
      // the same neck built once more is no other one
      hear(bench, asked, true, { work: "idle", good: sameJson(good, job) ? good : job, joints: { ...joints, measuring: true }, parts, measures, clearances, unrolled, openAngleDeg, axes, warnings, violations: [], milliseconds });
      tellTaken(bench);
    };
    // the first picture takes the longest, and filling the panels would hold it up
    if (bench.get().good === undefined && !document.hidden) requestAnimationFrame(() => setTimeout(tellOwed, 0));
    else setTimeout(tellOwed, 0);
  },
  refused: (violations, asked) => {
    tellOwed();
    if (bench.get().good === undefined) setText(byId("view-wait"), "There is no neck to show yet: what keeps it from being built stands below.");
    // what is worth knowing of the neck that stays is told as before
    const warnings = bench.get().warnings.filter(({ path, why }) => !violations.some((violation) => violation.path === path && violation.why === why));
    hear(bench, asked, false, { work: "idle", violations, warnings });
  },
  meshes: (chordMm, meshes) => {
    inView((viewport) => {
      viewport.setMeshes(meshes, chordMm);
      byId("view-wait").hidden = true;
      byId("view").dataset["chordMm"] = String(chordMm);
    });
  },
  measured: (measures) => {
    tellOwed();
    bench.set({ measures: new Map(measures.map((part) => [part.id, part])) });
  },
  joints: (joints) => {
    tellOwed();
    bench.set({ joints: { list: joints, measuring: false } });
    void whenFirstStands();
  },
  failed: (message, then) => {
    const told = {
      again: `The calculation broke off (${message}). It is started again and your job is kept.`,
      back: `The calculation broke off twice on this change (${message}). The last good neck stands; your fields are kept as they are.`,
      over: `The calculation breaks off again and again (${message}). Your job is kept in the fields.`,
    };
    makeView();
    tellOwed();
    bench.set({ work: then === "over" ? "stopped" : "loading", notice: { tone: "fault", text: told[then] } });
  },
});

/** The list at the angle the key was put to: while the key moves the core measures as often as it can, and no oftener. */
const angle = new Newest(
  (keyAngleDeg: number) => client.ask({ kind: "clearances-at", keyAngleDeg }),
  (deg, reply) => {
    if (reply.kind === "clearances-at") bench.set({ atAngle: { deg, list: reply.list } });
  },
  () => bench.set({ keyDeg: undefined }),
);

/** The neck across at the station of the cut; while the slider moves only the newest is asked. */
const crossing = new Newest(
  (stationMm: number) => client.ask({ kind: "across", stationMm }),
  (_, reply) => {
    if (reply.kind !== "across") return;
    const { looking } = bench.get();
    const first = looking.across === undefined && looking.cut === "across";
    bench.set({ looking: { ...looking, across: reply.across, stationMm: Math.min(looking.stationMm, reply.across.lengthMm) } });
    // where the cut lies was not known when it was chosen
    if (first) inView((viewport) => viewport.faceCut());
  },
  () => {},
);

const shelf = new Shelf();
const brokenRecords = new BrokenRecords(bench, shelf);
const keeper = new Keeper(bench, shelf, brokenRecords, (job) => client.build(job));
/** The part that is held; the core is asked for nothing else meanwhile. */
const placer = new Placer(bench, (request) => client.ask(request), {
  held: ({ axes, chordMm, meshes }) =>
    inView((viewport) => {
      viewport.setAxes(axes);
      viewport.setMeshes(meshes, chordMm);
      byId("view").dataset["chordMm"] = String(chordMm);
    }),
  following: (follows) => {
    document.documentElement.dataset["placing"] = follows ? "follows" : "rests";
  },
  rebuild: () => {
    const { draft } = bench.get();
    if (draft !== undefined) client.build(draft);
  },
});
const rooms = new RoomSearch(bench, (request) => client.ask(request), () => placer.restedMs);

const files = new Exports(bench, client);
const steps = new StepsPanel(bench, byId("steps"));
const begin = new StartPanel(bench, byId("start"), files);
const link = new LinkPanel(bench, byId("link"));
const keptVariants = new Variants(bench, shelf, brokenRecords);
/** Nothing is built there: it is only asked. */
const aside = () => new Client(thread, { awake() {}, building() {}, built() {}, refused() {}, meshes() {}, measured() {}, joints() {}, failed() {} });
const variants = new VariantsPanel(bench, keptVariants, new Comparer(bench, aside), { look: () => keeper.lookForLeft(), drop: (id) => keeper.dropLeft(id) }, byId("variants"));
const offline = new Offline(bench);
const newer = new NewerPanel(bench, byId("newer"), () => offline.takeNewer());
const broken = new BrokenPanel(bench, byId("broken"), (id) => brokenRecords.letGo(id));
const reach = new ReachSearch(bench, (request) => client.ask(request));
const card = new CardPanel(bench, byId("card"), files, reach);
const list = new ClearancePanel(bench, new WaysOut(bench, (request) => client.ask(request)), byId("list"), byId("list-verdict"));
const key = new KeyPanel(bench, byId("key"));
const findings = new FindingsPanel(bench, byId("findings"), byId("findings-verdict"));
const tray = new Tray(bench, byId("tray"), (chosen) => chooseCard(chosen));
const placing = new PlacingPanel(bench, placer, rooms, byId("placing"), byId("canvas"));
const flat = new UnrolledPanel(bench, placer, rooms, placing, byId("flat"), byId("template"));
const looking = new LookingPanel(bench, { from: (side) => inView((viewport) => viewport.from(side)), faceCut: () => inView((viewport) => viewport.faceCut()) }, byId("looking"));
const partsShown = new PartsShown(bench, looking.button, byId("shown"));
const verdict = new VerdictPanel(bench, byId("status"), byId("first-clash"), (row) => {
  bench.set({ row });
  byId("list").scrollTop = 0;
});
const status = new StatusPanel(
  bench,
  { notice: byId("notice"), aside: byId("aside"), faults: byId("faults"), jobLine: byId("job-line"), units: byId("unit-switch") },
  goToField,
  () => {
    client.restart();
    const { draft } = bench.get();
    if (draft !== undefined) client.build(draft);
  },
);

const doors = new Doors(
  bench,
  byId("doors"),
  {
    blanks: async (place) => {
      const { BlanksRoom } = await import("./panels/blanks/room.ts");
      return new BlanksRoom(bench, () => workerOf(SHOP_WORKER_NAME), place, (file) => void files.open(file));
    },
    bore: async (place) => {
      const { BoreRoom } = await import("./panels/bore/room.ts");
      return new BoreRoom(bench, () => workerOf(BORE_WORKER_NAME), place, (name, job) => void keptVariants.keep(name, job));
    },
    "send-out": async (place) => {
      const { SendOutRoom } = await import("./panels/send-out/room.ts");
      return new SendOutRoom(() => workerOf(SHOP_WORKER_NAME), place);
    },
    "job-card": async (place) => {
      const { JobCardRoom } = await import("./panels/job-card/room.ts");
      return new JobCardRoom(() => workerOf(CARD_WORKER_NAME), place, (file) => void files.open(file));
    },
  },
  () => {
    key.rest();
    placer.putDown();
    settle(bench);
  },
);

byId("job-menu").replaceChildren(jobMenu());
byId("job-actions").replaceChildren(...files.actions(), link.button, variants.button);
byId("view-tools").replaceChildren(...viewTools());
bench.subscribe(react);
doors.begin();
// what is scrolled to on a phone must come to lie under the neck that stays in sight
new ResizeObserver(([hold]) => document.documentElement.style.setProperty("--hold", `${hold?.borderBoxSize[0]?.blockSize ?? 0}px`)).observe(byId("view-hold"));
takeDroppedJobs();
addEventListener("keydown", (event) => {
  if (event.key === "Escape" && !event.defaultPrevented && bench.get().shopRoom === "bench" && looking.letGo()) event.preventDefault();
});
addEventListener("beforeunload", (event) => {
  const state = bench.get();
  // what is kept is there on the next visit; otherwise the browser asks, in its own words
  if (state.keeping.state === "refused" && (isUnsaved(state) || state.aside !== undefined)) event.preventDefault();
});
start().catch((error: unknown) => bench.set({ work: "stopped", notice: { tone: "fault", text: `The page could not start: ${String(error)}` } }));

let stands = false;
/** All of the first neck is there, and the core and the network are idle. */
async function whenFirstStands(): Promise<void> {
  if (stands) return;
  stands = true;
  await offline.begin();
}

async function start(): Promise<void> {
  const schema = client.ask({ kind: "schema" });
  const found = await keeper.begin();
  const { draft } = bench.get();
  if (found === "nothing") {
    files.begin("alto");
    bench.set({ start: true });
  } else {
    const told = found === "copied" ? "is open in another tab too. What lies here is a copy of its own: what you change here changes nothing there." : "was brought back as you left it.";
    await keeper.lookForLeft();
    const left = bench.get().left.length === 0 ? "" : " What other tabs left stands under Variants.";
    // the core may have been given up meanwhile, and that matters more
    if (bench.get().notice?.tone !== "fault") bench.set({ notice: { tone: "plain", text: `${jobName(draft)} ${told}${left}` } });
  }
  keeper.watch();
  await link.open();
  void keptVariants.begin();
  const reply = await schema;
  if (reply.kind === "schema") bench.set({ schema: reply.schema });
}

function react(now: Bench, before: Bench): void {
  if (now.draft !== before.draft && now.draft !== undefined) client.build(now.draft);
  if (now.draft !== before.draft && now.placing !== undefined) placer.drop();
  // what was found is of the job as it was
  if (now.draft !== before.draft && now.search !== undefined) bench.set({ search: undefined });
  // the view is at one place at a time, and a joint's lies where it is with the key closed
  if (now.joint !== undefined && (now.row !== undefined || now.keyDeg !== undefined)) {
    bench.set(now.joint === before.joint ? { joint: undefined } : { row: undefined, keyDeg: undefined });
  }
  if (now.card !== before.card && !fromView && now.placing === undefined) inView((viewport) => viewport.turnTo(now.card));
  if (now.good !== before.good) reach.again();
  wantRoom(now, before);
  measureAtAngle(now, before);
  lookAt(now, before);
  key.render(now);
  showInView(now, before);
  placing.render(now, before);
  flat.render(now, before);
  // while the key swings nothing else changes
  const others = (Object.keys(now) as (keyof Bench)[]).filter((field) => field !== "keyDeg");
  if (now.keyDeg !== undefined && before.keyDeg !== undefined && others.every((field) => now[field] === before[field])) return;
  list.render(now, before);
  verdict.render(now);
  // what is about a neck at rest waits until the part is put down
  if (now.placing !== undefined && before.placing !== undefined) return card.follow(now, before);
  findings.render(now, before);
  tray.render(now, before);
  partsShown.render(now);
  card.render(now, before);
  status.render(now, before);
  steps.render(now);
  begin.render(now, before);
  broken.render(now, before);
  variants.render(now, before);
  newer.render(now);
  doors.render(now);
}

/** The room of the chosen part is looked for while there is time, so that it is known when the part is taken. */
function wantRoom(now: Bench, before: Bench): void {
  const part = movableOf(now.card);
  if (now.room !== undefined && (now.room.part !== part || now.room.job !== now.good)) rooms.drop();
  // round the tube it has other neighbours
  if (now.placing !== undefined && part !== undefined && now.room?.part === part && Math.abs(now.room.azimuthDeg - now.placing.at.azimuthDeg) > 1) rooms.want(part);
  const rests = now.work === "idle" && now.good !== undefined && now.placing === undefined;
  if (part !== undefined && rests && (now.work !== before.work || now.card !== before.card || before.placing !== undefined)) rooms.want(part);
}

function measureAtAngle(now: Bench, before: Bench): void {
  if (now.keyDeg === before.keyDeg && now.clearances === before.clearances) return;
  if (now.keyDeg !== undefined) angle.want(keyDegOf(now));
  else {
    angle.drop();
    if (now.atAngle !== undefined) bench.set({ atAngle: undefined });
  }
}

/** What is cut, shown alone or measured; the points of a distance belong to the neck and to the place of the key they were picked on. */
function lookAt(now: Bench, before: Bench): void {
  const { measuring, stationMm, cut } = now.looking;
  const measured = measuring.points.length > 0 || measuring.row !== undefined;
  if (measured && measuring === before.looking.measuring && (now.parts !== before.parts || now.keyDeg !== before.keyDeg)) {
    const says = now.parts !== before.parts ? "The neck was changed: the points were let go." : "The key was moved: the points were let go.";
    bench.set({ looking: { ...now.looking, measuring: { ...NOT_MEASURING, picking: measuring.picking, says } } });
  }
  // beside the view there is one room for the card and the ways to look
  if (now.card !== before.card && now.looking.open && matchMedia("(min-width: 960px)").matches) looking.close();
  const alone = now.looking.alone;
  if (alone !== undefined && now.parts !== before.parts && !now.parts.some(({ id }) => id === alone)) bench.set({ looking: { ...now.looking, alone: undefined } });
  const asks = now.good !== undefined && (now.looking.open || cut === "across") && (now.good !== before.good || stationMm !== before.looking.stationMm || cut !== before.looking.cut || now.looking.open !== before.looking.open);
  if (asks) crossing.want(stationMm);
  if (now.looking === before.looking && now.unit === before.unit && now.parts === before.parts) return;
  looking.render(now);
  if (isShownElse(now.looking, before.looking)) inView((viewport) => viewport.look(bench.get().looking));
}

/** Whether the view has to show anything else. Which parts are cut it says itself. */
function isShownElse(now: Looking, before: Looking): boolean {
  const fields: readonly (keyof Looking)[] = ["alone", "cut", "otherHalf", "across", "asSeen", "measuring"];
  return fields.some((field) => now[field] !== before[field]);
}

/** A press on the view: a point of the distance, or the part whose card is opened. */
function pick(picked: Picked | undefined): void {
  if (bench.get().looking.measuring.picking) looking.picked(picked);
  else if (picked !== undefined) {
    // it is seen already
    fromView = true;
    bench.set({ card: picked.part });
    fromView = false;
  }
}

/** A part is being chosen on the view itself. */
let fromView = false;

function showInView(now: Bench, before: Bench): void {
  const same = shownList(now) === shownList(before) && now.row === before.row && now.joint === before.joint && now.joints === before.joints && now.keyDeg === before.keyDeg && now.card === before.card && now.hidden === before.hidden && now.names === before.names && now.unit === before.unit && now.placing === before.placing && now.room === before.room;
  if (same) return;
  const place = placeOf(now);
  inView((viewport) =>
    viewport.show({
      hidden: now.hidden,
      chosen: now.card,
      place,
      keyDeg: keyDegOf(now),
      failing: failingRows(now),
      names: now.names,
      unit: now.unit,
      placing: placingShown(now),
    }),
  );
  const told = byId("view-place");
  setHidden(told, place === undefined);
  if (place !== undefined || told.hasChildNodes()) {
    told.replaceChildren(
      ...(place === undefined
        ? []
        : [
            el("strong", { text: place.text }),
            el("span", { text: ` ${place.name}, ${place.says} ` }),
            el("button", { text: "Leave this place", attributes: { type: "button" }, on: { click: () => leavePlace() } }),
          ]),
    );
  }
  setAttribute(byId("canvas"), "aria-label", place === undefined ? "The neck" : `The neck at ${place.name}: ${place.text}`);
}

/** The part that is held or chosen, as the view shows it: its numbers beside it, and where it may go. */
function placingShown(now: Bench): PlacingShown | undefined {
  const part = now.placing?.part ?? movableOf(now.card);
  const spot = part === undefined ? undefined : shownSpot(now, part);
  if (part === undefined || spot === undefined) return undefined;
  const known = now.room?.part === part ? now.room.stretches : [];
  const label = (mm: number) => lengthText(mm, now.unit);
  return {
    azimuthDeg: now.room?.part === part ? now.room.azimuthDeg : spot.azimuthDeg,
    stretches: known.map((stretch) => {
      const { fromMm, toMm } = takenUp(stretch, part, now.good);
      return { fromMm, toMm, fromText: label(fromMm), toText: label(toMm) };
    }),
    held: now.placing === undefined ? undefined : { spot, text: spotText(now, part, spot, true) },
  };
}

/** A hand on a part in the view: the part comes with it by as much as the hand goes along the tube and round it. */
function placingHand(): PlacingHand {
  let from: { hand: Spot; part: Spot; bearing: Bearing | undefined } | undefined;
  const rounded = (value: number, step: number) => Number((Math.round(value / step) * step).toFixed(4));
  return {
    movedWith: (part) => movableOf(part)?.id,
    take: (id, hand) => {
      const part = movableOf(id);
      from = undefined;
      if (part === undefined || !placer.pickUp(part, "hand")) return;
      const held = bench.get().placing;
      from = held === undefined ? undefined : { hand, part: held.from, bearing: undefined };
      rooms.want(part);
    },
    moveTo: (hand, mmPerPx) => {
      if (from === undefined) return;
      // as fine as the view is near
      const step = mmPerPx < 0.05 ? 0.01 : 0.1;
      const { placing, unrolled } = bench.get();
      const [along, turned] = [hand.stationMm - from.hand.stationMm, hand.azimuthDeg - from.hand.azimuthDeg];
      if (placing?.part.azimuthDeg === undefined && unrolled !== undefined) from.bearing ??= bearingOf(along, (turned * Math.PI * outsideAt(unrolled, hand.stationMm)) / 180, mmPerPx);
      const { bearing, part } = from;
      placer.moveTo(
        {
          stationMm: bearing === "round" ? part.stationMm : rounded(part.stationMm + along, step),
          azimuthDeg: bearing === "along" ? part.azimuthDeg : rounded(part.azimuthDeg + turned, step),
        },
        bearing,
      );
    },
    letGo: () => from !== undefined && placer.putDown(),
    giveBack: () => from !== undefined && placer.giveBack(),
  };
}

/** The place the view has gone to: of a row of the list, or of a joint. */
function placeOf(state: Bench): { at: Place; text: string; name: string; says: string } | undefined {
  const nameOf = namer(state.parts);
  const row = chosenRow(state);
  if (row !== undefined) return { at: row, text: gapText(row, state.unit), name: pairText(row, nameOf), says: needText(row, state.unit) };
  const joint = chosenJoint(state);
  const point = joint?.worst_point_mm ?? undefined;
  if (joint === undefined || point === undefined) return undefined;
  const { a, b } = joint;
  return { at: { a, b, a_point_mm: point, b_point_mm: point, pose: "joint" }, text: gapsText(joint, state.unit), name: `joint of ${pairText(joint, nameOf)}`, says: placeText(joint) };
}

function leavePlace(): void {
  bench.set({ row: undefined, joint: undefined });
  inView((viewport) => viewport.whole());
}

function chooseCard(chosen: string): void {
  bench.set({ card: chosen });
  // on a phone the card is further down the page than the name that was touched, and the neck stays in sight over it
  if (matchMedia("(min-width: 960px)").matches) return;
  const under = getComputedStyle(byId("view-hold")).position === "sticky" ? byId("view-hold").offsetHeight : 0;
  scrollTo({ top: byId("card").getBoundingClientRect().top + scrollY - under - 8 });
}

function goToField(path: string): void {
  bench.set({ card: cardOfPath(path) });
  card.form.focus(path);
}

/** On a phone what concerns the job as a whole stands behind one button: seven would take the first screen. */
function jobMenu(): HTMLElement {
  const actions = byId("job-actions");
  const menu = el("button", {
    text: "Open, save …",
    attributes: { type: "button", "aria-expanded": "false", "aria-controls": "job-actions" },
    on: {
      click: () => {
        const opens = actions.classList.toggle("opened");
        menu.setAttribute("aria-expanded", String(opens));
      },
    },
  });
  return menu;
}

function viewTools(): HTMLElement[] {
  const names = el("input", { attributes: { type: "checkbox", checked: bench.get().names }, on: { change: () => bench.set({ names: names.checked }) } });
  const flatTick = el("input", { attributes: { type: "checkbox", checked: bench.get().flat, "aria-controls": "flat" }, on: { change: () => bench.set({ flat: flatTick.checked }) } });
  return [
    el("label", { class: "tick" }, flatTick, el("span", { text: "Laid flat" })),
    el("label", { class: "tick names-tick" }, names, el("span", { text: "Names" })),
    el("button", { text: "Whole neck", attributes: { type: "button" }, on: { click: () => leavePlace() } }),
  ];
}

/** A job file may be dropped anywhere on the page. */
function takeDroppedJobs(): void {
  const over = (event: DragEvent) => {
    if (event.dataTransfer?.types.includes("Files") !== true) return;
    event.preventDefault();
    document.documentElement.classList.toggle("dropping", event.type === "dragover");
  };
  addEventListener("dragover", over);
  addEventListener("dragleave", over);
  addEventListener("drop", (event) => {
    over(event);
    const file = event.dataTransfer?.files[0];
    if (file !== undefined) void files.open(file);
  });
}

/** The view, or nothing where the browser cannot draw it: fields, list and files work all the same. */
async function openView(): Promise<Viewport | undefined> {
  const canvas = byId("canvas");
  const ink = byId("view-ink");
  if (!(canvas instanceof HTMLCanvasElement) || !(ink instanceof SVGElement)) return undefined;
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  try {
    const { Viewport } = await import("./view/viewport.ts");
    const viewport = new Viewport(canvas, ink, appearance(dark.matches), pick, (cutParts) => {
      if (bench.get().looking.cutParts.join(" ") !== cutParts.join(" ")) bench.set({ looking: { ...bench.get().looking, cutParts } });
    }, placingHand());
    layLookingKeys(canvas, {
      from: (side) => viewport.from(side),
      isPicking: () => bench.get().looking.measuring.picking,
      pickMiddle: () => viewport.pickMiddle(),
    });
    viewport.camera.still = still.matches;
    dark.addEventListener("change", () => viewport.setAppearance(appearance(dark.matches)));
    still.addEventListener("change", () => {
      viewport.camera.still = still.matches;
    });
    return viewport;
  } catch {
    setText(byId("view-wait"), "This browser cannot draw the neck (it gives the page no WebGL). The list, the fields and the files work without.");
    return undefined;
  }
}

/** Colours of the view that the style sheet decides. */
function appearance(dark: boolean): Appearance {
  const style = getComputedStyle(document.documentElement);
  return { light: dark ? "lamp" : "daylight", ink: style.getPropertyValue("--view-ink").trim(), accent: style.getPropertyValue("--accent").trim(), keepOut: style.getPropertyValue("--ink-soft").trim() };
}
