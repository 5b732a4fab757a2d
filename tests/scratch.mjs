// A folder of a test file's own, gone when its tests are over, however they end.
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after } from "node:test";

export function scratchFolder() {
  const folder = mkdtempSync(join(tmpdir(), "neckwright-"));
  after(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}
