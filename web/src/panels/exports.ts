// Files out of the page, and jobs into it.
import { type BenchStore, holdsRefused, isRefused, jobOf, putJob } from "../state/bench.ts";
import { fileStem, LARGEST_JOB_BYTES, readJobText } from "../state/job-file.ts";
import { STARTING_JOBS, type Voice } from "../state/starting.ts";
import type { Client } from "../worker/client.ts";
import type { Request } from "../worker/protocol.ts";
import { el } from "../dom.ts";

/** Chords offered for STL, in millimetres. */
const CHORDS_MM = [0.005, 0.01, 0.02, 0.05];
const USUAL_CHORD_MM = 0.01;

/** Hands a file to the browser. */
export function save(bytes: Uint8Array<ArrayBuffer>, name: string, type: string): void {
  const address = URL.createObjectURL(new Blob([bytes], { type }));
  el("a", { attributes: { href: address, download: name } }).click();
  // the browser reads it after this turn; a minute is ample and nothing is kept for good
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

export class Exports {
  #chordMm = USUAL_CHORD_MM;
  readonly #picker = el("input", {
    attributes: { type: "file", accept: ".json,application/json", hidden: true, "aria-hidden": "true", tabindex: -1 },
    on: {
      change: () => {
        const [file] = this.#picker.files ?? [];
        if (file !== undefined) void this.open(file);
        this.#picker.value = "";
      },
    },
  });

  constructor(
    private readonly bench: BenchStore,
    private readonly client: Client,
  ) {}

  /** Buttons that concern the job as a whole. */
  actions(): HTMLElement[] {
    return [
      this.#button("Start an alto", async () => this.begin("alto")),
      this.#button("Start a tenor", async () => this.begin("tenor")),
      this.#button("Open a job", async () => this.choose()),
      this.#picker,
      this.#button("Save the job", () => this.#saveJob()),
      this.#button("STEP of the whole neck", () => this.#write({ kind: "assembly-step" }, `${fileStem(this.bench.get().good)}.step`, "model/step")),
    ];
  }

  /** Buttons for the files of one part. */
  partFiles(part: string): HTMLElement {
    const chord = el(
      "select",
      {
        attributes: { "aria-label": "How near the triangles keep to the surface" },
        on: {
          change: () => {
            this.#chordMm = Number(chord.value);
          },
        },
      },
      ...CHORDS_MM.map((mm) => el("option", { text: `${mm} mm`, attributes: { value: mm, selected: mm === this.#chordMm } })),
    );
    const files = (id: string, prefix: string) => [
      this.#button(`${prefix}STEP`, () => this.#write({ kind: "part-step", part: id }, `${fileStem(this.bench.get().good)}-${id}.step`, "model/step")),
      this.#button(`${prefix}STL`, () => this.#write({ kind: "part-stl", part: id, chordMm: this.#chordMm }, `${fileStem(this.bench.get().good)}-${id}.stl`, "model/stl")),
    ];
    const halves = part === "tube" ? [...files("half_left", "Left half, "), ...files("half_right", "Right half, ")] : [];
    return el("div", { class: "files" }, el("h3", { text: "Files" }), el("div", { class: "actions" }, ...files(part, ""), ...halves, el("label", { class: "chord" }, "STL true to ", chord)));
  }

  /** Asks for a job file. */
  choose(): void {
    this.#picker.click();
  }

  begin(voice: Voice): void {
    const job = STARTING_JOBS[voice];
    putJob(this.bench, { draft: job, saved: job }, `${voice === "alto" ? "An alto" : "A tenor"} was started`);
  }

  /** Opens a job file. What is no job at all is told and changes nothing. */
  async open(file: File): Promise<void> {
    if (file.size > LARGEST_JOB_BYTES) {
      this.#refuse(`${file.name} was not opened: it is far larger than a job.`);
      return;
    }
    const read = readJobText(await file.text());
    if ("why" in read) {
      this.#refuse(`${file.name} was not opened: ${read.why}.`);
      return;
    }
    const { job } = read;
    putJob(this.bench, { draft: job, saved: job }, `${file.name} was opened`, `${file.name} is open.`);
  }

  #refuse(text: string): void {
    this.bench.set({ notice: { tone: "fault", text } });
  }

  async #saveJob(): Promise<void> {
    const state = this.bench.get();
    // what is written is the last good job: only if that is the job that counts are its changes safe
    const whole = state.work === "idle" && (!isRefused(state) || holdsRefused(state));
    const written = await this.#write({ kind: "job-file" }, `${fileStem(this.bench.get().good)}.json`, "application/json");
    if (written && whole) this.bench.set({ saved: jobOf(state) });
  }

  /** Hands out a file; says whether there was one. */
  async #write(request: Exclude<Request, { kind: "build" }>, name: string, type: string): Promise<boolean> {
    const state = this.bench.get();
    if (state.good === undefined) return false;
    const reply = await this.client.ask(request);
    if (reply.kind !== "file") return false;
    save(reply.bytes, name, type);
    const behind = state.violations.length > 0 || state.unread.size > 0;
    this.bench.set({ notice: { tone: "plain", text: `${name} is written${behind ? ", from the last good neck: the fields that are wrong are not in it" : ""}.` } });
    return true;
  }

  /** A button that stays pressed in until its work is done, and tells what went wrong. */
  #button(text: string, work: () => Promise<unknown>): HTMLButtonElement {
    const button = el("button", {
      text,
      attributes: { type: "button" },
      on: {
        click: () => {
          button.disabled = true;
          work()
            .catch((error: unknown) => this.#refuse(`${text}: ${error instanceof Error ? error.message : String(error)}`))
            .finally(() => {
              button.disabled = false;
            });
        },
      },
    });
    return button;
  }
}
