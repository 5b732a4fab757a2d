// The room for what leaves the shop.
import type { Bench, BenchStore } from "../../state/bench.ts";
import type { Json } from "../../state/json.ts";
import { standing } from "../../state/standing.ts";
import type { ShopPart, ShopTalk } from "../../worker/shop-talk.ts";
import { SideCore, type SideThread, Stopped } from "../../worker/side-core.ts";
import { el, setText } from "../../dom.ts";
import type { SideRoom } from "../doors.ts";

export class SendOutRoom implements SideRoom {
  readonly #core: SideCore<ShopTalk>;
  readonly #job = el("p", { class: "says" });
  readonly #status = el("p", { class: "says", attributes: { role: "status" } });
  readonly #list = el("tbody");
  #asked: Json | undefined;

  constructor(
    _bench: BenchStore,
    start: () => SideThread,
    place: HTMLElement,
  ) {
    this.#core = new SideCore(start, (state) => setText(this.#status, state === "loading" ? "Loading …" : state === "working" ? "Working …" : ""));
    place.replaceChildren(this.#job, this.#status, el("table", { class: "parts-table" }, this.#list));
  }

  render(now: Bench): void {
    const stands = standing(now);
    setText(this.#job, stands?.says ?? "There is no job on the bench yet.");
    if (stands === undefined || stands.job === this.#asked) return;
    this.#asked = stands.job;
    void this.#look(stands.job);
  }

  left(): void {}

  async #look(job: Json): Promise<void> {
    try {
      const answer = await this.#core.ask("parts", { job });
      if (this.#asked !== job) return;
      this.#show(answer.ok ? answer.parts : []);
    } catch (error) {
      if (error instanceof Stopped || this.#asked !== job) return;
      const again = el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => void this.#look(job) } });
      const why = error instanceof Error ? error.message : String(error);
      this.#list.replaceChildren(el("tr", {}, el("td", { attributes: { role: "alert" } }, `What can be sent out could not be looked up (${why}). `, again)));
    }
  }

  #show(parts: readonly ShopPart[]): void {
    this.#list.replaceChildren(...parts.map(({ name, metalName }) => el("tr", {}, el("td", { text: name }), el("td", { text: metalName }))));
  }
}
