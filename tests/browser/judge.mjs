// What an independent checker finds wanting for those who do not see the page or do not use a mouse.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** What it finds on the page, or within one thing on it: a line for each. */
export async function judged(page, within) {
  await page.evaluate(AXE);
  return page.evaluate(async (selector) => {
    const { violations } = await window.axe.run(selector ?? document, { resultTypes: ["violations"] });
    return violations.flatMap(({ id, nodes }) => nodes.map(({ target, failureSummary }) => `${id} at ${target.join(" ")}: ${failureSummary.split("\n")[1]?.trim()}`));
  }, within);
}
