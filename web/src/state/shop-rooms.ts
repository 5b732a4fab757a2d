// The rooms of the shop: the bench, and what is done beside it. Each has an address of its own behind the #, where a job
// that is sent as a link stands too.

export const SHOP_ROOMS = [
  { id: "bench", name: "Bench" },
  { id: "bore", name: "Bore" },
  { id: "blanks", name: "Blanks" },
  { id: "send-out", name: "Send out" },
  { id: "job-card", name: "Job card" },
] as const;

export type ShopRoomId = (typeof SHOP_ROOMS)[number]["id"];
/** Rooms that are made when the maker first goes there. */
export type SideRoomId = Exclude<ShopRoomId, "bench">;

/** The room an address leads to: the bench, unless it names another. */
export function shopRoomOf(hash: string): ShopRoomId {
  return SHOP_ROOMS.find(({ id }) => hash === `#${id}`)?.id ?? "bench";
}
