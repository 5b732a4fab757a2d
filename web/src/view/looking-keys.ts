// Keys of the view for looking at the neck from its sides, and for picking points without a pointer.
import { type Side, SIDES } from "../state/looking.ts";

export interface LookingKeys {
  from(side: Side): void;
  /** Whether points are being picked: only then Enter picks. */
  isPicking(): boolean;
  pickMiddle(): void;
}

export function layLookingKeys(canvas: HTMLElement, keys: LookingKeys): void {
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    const side = SIDES.find(({ key }) => key === event.key.toLowerCase());
    if (side !== undefined) keys.from(side.side);
    else if (event.key === "Enter" && keys.isPicking()) {
      keys.pickMiddle();
      // the same key means something else while nothing is being picked
      event.stopImmediatePropagation();
    } else return;
    event.preventDefault();
  });
}
