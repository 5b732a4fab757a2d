// The doors between the rooms of the shop. A door is a link, so that the browser's own back, forward and reload work; the
// bench is only put out of sight, with its worker running and everything on it as it was.
import { type Bench, type BenchStore } from "../state/bench.ts";
import { SHOP_ROOMS, type ShopRoomId, shopRoomOf, type SideRoomId } from "../state/shop-rooms.ts";
import { byId, el } from "../dom.ts";

/** A room beside the bench, made when the maker first goes there. */
export interface SideRoom {
  /** What lies on the bench, on coming in and whenever it changes while the maker is in. */
  render(now: Bench): void;
  /** The maker goes to another room. */
  left(): void;
}

/** Makes what is in a room, in the place that is given. */
export type Furnish = (place: HTMLElement) => Promise<SideRoom>;

interface Opened {
  element: HTMLElement;
  title: HTMLElement;
  room: SideRoom | undefined;
}

export class Doors {
  readonly #doors = new Map<ShopRoomId, HTMLAnchorElement>();
  readonly #opened = new Map<SideRoomId, Opened>();
  /** How far down each room was when it was left. */
  readonly #scrolled = new Map<ShopRoomId, number>();
  /** The page's own name. */
  readonly #title = document.title;

  constructor(
    private readonly bench: BenchStore,
    nav: HTMLElement,
    private readonly furnish: Readonly<Record<SideRoomId, Furnish>>,
    /** The maker goes from the bench: nothing may go on there by itself. */
    private readonly leaveBench: () => void,
  ) {
    for (const { id, name } of SHOP_ROOMS) this.#doors.set(id, el("a", { text: name, attributes: { href: `#${id}`, "aria-describedby": "doors-keys" } }));
    nav.replaceChildren(...this.#doors.values(), el("span", { class: "unseen", text: "Arrow keys go from door to door.", attributes: { id: "doors-keys" } }));
    nav.title = "Arrow keys go from door to door.";
    nav.addEventListener("keydown", (event) => this.#walk(event));
    this.#mark(this.bench.get().shopRoom);
    addEventListener("hashchange", () => this.#go(shopRoomOf(location.hash)));
  }

  /** Goes to the room the page was come to by. */
  begin(): void {
    this.#go(shopRoomOf(location.hash));
  }

  /** Tells the room the maker is in what lies on the bench. */
  render(now: Bench): void {
    if (now.shopRoom !== "bench") this.#opened.get(now.shopRoom)?.room?.render(now);
  }

  #go(to: ShopRoomId): void {
    const from = this.bench.get().shopRoom;
    if (from === to) return;
    this.#scrolled.set(from, scrollY);
    if (from === "bench") this.leaveBench();
    else this.#opened.get(from)?.room?.left();
    // the style sheet puts the bench out of sight by this
    if (to === "bench") delete document.documentElement.dataset["room"];
    else document.documentElement.dataset["room"] = to;
    for (const [id, { element }] of this.#opened) element.hidden = id !== to;
    this.bench.set({ shopRoom: to });
    this.#mark(to);
    const title = to === "bench" ? byId("view-title") : this.#enter(to).title;
    // whoever sees nothing is told where the door has led
    title.focus({ preventScroll: true });
    scrollTo({ top: this.#scrolled.get(to) ?? 0, behavior: "instant" });
  }

  /** From door to door: they are one stop on the way through the page. */
  #walk(event: KeyboardEvent): void {
    const doors = [...this.#doors.values()];
    const at = doors.findIndex((door) => door === document.activeElement);
    const to = { ArrowLeft: at - 1, ArrowRight: at + 1, Home: 0, End: doors.length - 1 }[event.key];
    if (to === undefined || at < 0) return;
    event.preventDefault();
    doors[Math.min(Math.max(to, 0), doors.length - 1)]?.focus();
  }

  #mark(at: ShopRoomId): void {
    for (const [id, door] of this.#doors) {
      door.tabIndex = id === at ? 0 : -1;
      if (id === at) door.setAttribute("aria-current", "page");
      else door.removeAttribute("aria-current");
    }
    const name = SHOP_ROOMS.find(({ id }) => id === at)?.name;
    document.title = at === "bench" ? this.#title : `${name} · ${this.#title}`;
  }

  #enter(id: SideRoomId): Opened {
    const there = this.#opened.get(id);
    if (there !== undefined) {
      there.room?.render(this.bench.get());
      return there;
    }
    const title = el("h2", { text: SHOP_ROOMS.find((room) => room.id === id)?.name ?? "", attributes: { id: `${id}-title`, tabindex: -1 } });
    const place = el("div", { class: "side-place" });
    const element = el("main", { class: "side-room", attributes: { id, "aria-labelledby": `${id}-title` } }, title, place);
    document.querySelector("main.bench")?.after(element);
    const opened: Opened = { element, title, room: undefined };
    this.#opened.set(id, opened);
    void this.#fill(id, opened, place);
    return opened;
  }

  async #fill(id: SideRoomId, opened: Opened, place: HTMLElement): Promise<void> {
    place.replaceChildren(el("p", { class: "says", text: "Loading …", attributes: { role: "status" } }));
    try {
      const room = await this.furnish[id](place);
      opened.room = room;
      if (this.bench.get().shopRoom === id) room.render(this.bench.get());
    } catch (error) {
      const again = el("button", { text: "Try again", attributes: { type: "button" }, on: { click: () => void this.#fill(id, opened, place) } });
      const why = error instanceof Error ? error.message : String(error);
      place.replaceChildren(el("p", { class: "notice fault", attributes: { role: "alert" } }, el("span", { text: `This room could not be loaded (${why}). The bench works on.` }), again));
    }
  }
}
