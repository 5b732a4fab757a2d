// The core of what leaves the shop, in a thread of its own. The only file of the page that loads its wasm.
import init, { requestSchema, Shop } from "../../pkg/neckwright_shop.js";
import { type Json, sameJson } from "../state/json.ts";
import { answerWith } from "./answering.ts";
import { blanksAnswers } from "./blanks-answers.ts";
import type { BlanksTalk } from "./blanks-talk.ts";
import type { ShopTalk } from "./shop-talk.ts";

/** Name of the wasm beside this script, put in by the build. */
declare const WASM_NAME: string;

await answerWith<ShopTalk & BlanksTalk>(async () => {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  const shop = new Shop();
  /** Job of the neck that stands, or that was refused last. */
  let last: { job: Json; refused: ReturnType<Shop["setJob"]> | undefined } | undefined;
  const lay = (job: Json) => {
    if (last === undefined || !sameJson(last.job, job)) {
      const result = shop.setJob(job as Parameters<Shop["setJob"]>[0]);
      last = { job, refused: result.ok ? undefined : result };
    }
    return last.refused;
  };
  /** The neck of a job that was built before. */
  const laid = (job: Json) => {
    if (lay(job) !== undefined) throw new Error("the job cannot be built");
    return shop;
  };
  return {
    ...blanksAnswers(),
    schema: () => ({ schema: requestSchema() as Json }),
    parts: ({ job }) => {
      const refused = lay(job);
      return refused === undefined || refused.ok ? { ok: true, parts: shop.parts() } : { ok: false, violations: refused.violations };
    },
    sheets: ({ job, part, request }) => ({ flat: laid(job).flat(part, request), drawing: shop.drawing(part, request) }),
    check: ({ job, request }) => ({ violations: laid(job).check(request) }),
    package: ({ job, request }) => laid(job).package(request),
  };
});
