// The job as a link: made and copied here, and opened when the page is come to by one.
import { type BenchStore, holdsRefused, isRefused, jobOf, putJob, settle } from "../state/bench.ts";
import { sameJson } from "../state/json.ts";
import { jobName } from "../state/job-file.ts";
import { isLink, linkOf, readLink } from "../keeping/link.ts";
import { el } from "../dom.ts";

export class LinkPanel {
  readonly button = el("button", { text: "Copy a link", attributes: { type: "button" }, on: { click: () => void this.#copy() } });
  readonly #address = el("input", { attributes: { type: "text", readonly: true, "aria-label": "The link" }, on: { focus: () => this.#address.select() } });
  readonly #says = el("span");

  constructor(
    private readonly bench: BenchStore,
    private readonly room: HTMLElement,
  ) {
    const close = el("button", {
      text: "Close",
      attributes: { type: "button" },
      on: {
        click: () => {
          this.room.hidden = true;
          this.button.focus();
        },
      },
    });
    room.replaceChildren(this.#says, this.#address, close);
    addEventListener("hashchange", () => void this.open());
  }

  /** Opens the job of the link the page was come to by; the one that lies here is one step back. */
  async open(): Promise<void> {
    const { hash } = location;
    if (!isLink(hash)) return;
    const read = await readLink(hash);
    // so that a reload brings the bench back, and not the link over it once more
    history.replaceState(history.state, "", location.pathname + location.search);
    if ("why" in read) {
      this.bench.set({ notice: { tone: "fault", text: `The link was not opened: ${read.why}. What lies here is as it was.` } });
      return;
    }
    const { job } = read;
    if (sameJson(jobOf(this.bench.get()), job)) {
      this.bench.set({ start: false, notice: { tone: "plain", text: `${jobName(job)} is the job of the link, and it lies here already.` } });
      return;
    }
    putJob(this.bench, { draft: job, saved: undefined }, `${jobName(job)} was opened from a link`, `${jobName(job)} is open, from a link.`);
  }

  async #copy(): Promise<void> {
    settle(this.bench);
    const state = this.bench.get();
    const job = jobOf(state);
    if (job === undefined) return;
    let copied = true;
    try {
      this.#address.value = await linkOf(job, location.href);
      await navigator.clipboard.writeText(this.#address.value);
    } catch {
      copied = false;
    }
    if (this.#address.value === "") {
      this.bench.set({ notice: { tone: "fault", text: "This browser cannot make a link of a job: save the job as a file instead." } });
      return;
    }
    const faulty = holdsRefused(state) || state.unread.size > 0 ? " What was refused is not in it." : isRefused(state) ? " What is wrong in it is in the link as it stands." : "";
    this.#says.textContent = `${copied ? "The link is copied." : "Copy the link from here:"} It holds the whole job: every number, order and serial number, and the note. Nothing was sent anywhere; whoever has the link can read it all.${faulty}`;
    this.room.hidden = false;
    if (!copied) this.#address.focus();
  }
}
