// What is asked of the core that makes what leaves the shop, and what it answers.
import type { CuttingFinding, FlatView, PackageResult, PackedFile, PackingList, Request, ShopPart, Violation, Wanted } from "../../pkg/neckwright_shop.js";
import type { Json } from "../state/json.ts";

export type { CuttingFinding, PackageResult, PackedFile, PackingList, Request, ShopPart, Violation, Wanted };

export type ShopTalk = {
  /** The JSON Schema of a request. */
  schema: { ask: object; answer: { schema: Json } };
  /** What can be sent of the neck of a job, or why there is none. */
  parts: { ask: { job: Json }; answer: { ok: true; parts: ShopPart[] } | { ok: false; violations: Violation[] } };
  /** The outline and the drawing of a part, as the request asks for them. */
  sheets: { ask: { job: Json; part: string; request: Request }; answer: { flat: FlatView | undefined; drawing: string | undefined } };
  /** What is wrong with a request. */
  check: { ask: { job: Json; request: Request }; answer: { violations: Violation[] } };
  /** Everything that is asked for in one archive. */
  package: { ask: { job: Json; request: Request }; answer: PackageResult };
};
