// The core of what leaves the shop, in a thread of its own. The only file of the page that loads its wasm.
import init, { requestSchema, Shop } from "../../pkg/neckwright_shop.js";
import type { Json } from "../state/json.ts";
import { answerWith } from "./answering.ts";
import { blanksAnswers } from "./blanks-answers.ts";
import type { BlanksTalk } from "./blanks-talk.ts";
import { LastJob } from "./last-job.ts";
import type { ShopTalk } from "./shop-talk.ts";

/** Name of the wasm beside this script, put in by the build. */
declare const WASM_NAME: string;

await answerWith<ShopTalk & BlanksTalk>(async () => {
  await init({ module_or_path: new URL(WASM_NAME, import.meta.url) });
  const shop = new Shop();
  const neck = new LastJob((job) => shop.setJob(job));
  /** The neck of a job that was built before. */
  const laid = (job: Json) => {
    neck.stand(job);
    return shop;
  };
  return {
    ...blanksAnswers(),
    schema: () => ({ schema: requestSchema() as Json }),
    parts: ({ job }) => {
      const violations = neck.refusal(job);
      return violations === undefined ? { ok: true, parts: shop.parts() } : { ok: false, violations };
    },
    sheets: ({ job, part, request }) => ({ flat: laid(job).flat(part, request), drawing: shop.drawing(part, request) }),
    check: ({ job, request }) => ({ violations: laid(job).check(request) }),
    package: ({ job, request }) => laid(job).package(request),
  };
});
