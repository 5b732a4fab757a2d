// The core in Node, without a page: reads a job, says what does not fit, and writes the STEP of one part.
//
//     node examples/embed/node.mjs JOB.json PART OUT.step
//
// (`npm run build` makes web/pkg first.)
import { readFileSync, writeFileSync } from "node:fs";
import { initSync, Neck } from "../../web/pkg/neckwright.js";

const [jobFile, part, out] = process.argv.slice(2);
if (out === undefined) {
  console.error("usage: node examples/embed/node.mjs JOB.json PART OUT.step");
  process.exit(2);
}

initSync({ module: readFileSync(new URL("../../web/pkg/neckwright_bg.wasm", import.meta.url)) });

const neck = new Neck();
const result = neck.setJob(readFileSync(jobFile, "utf8"));
if (!result.ok) {
  for (const { path, allowed, why } of result.violations) console.error(`${path}: ${why} Allowed: ${allowed}.`);
  process.exit(2);
}

const { pairs, failed } = neck.clearances();
for (const pair of pairs.filter(({ ok }) => !ok)) {
  const size = pair.state === "overlapping" ? `${pair.overlap_mm.toFixed(2)} mm overlap` : `${pair.gap_mm.toFixed(2)} mm`;
  console.log(`${size}, ${pair.a} to ${pair.b} (${pair.pose}), needs ${pair.required_min_mm.toFixed(2)}`);
}
console.log(`${failed} of ${pairs.length} clearances are not within their limits`);

writeFileSync(out, neck.partStep(part));
console.log(`${part} written to ${out}`);
neck.free();
