// Where things are. Every other script takes its folders from here.
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

export const ROOT = join(dirname(fileURLToPath(import.meta.url)), "..", "..");
export const WEB = join(ROOT, "web");
export const PKG = join(WEB, "pkg");
export const DIST = join(WEB, "dist");
export const VENV = join(ROOT, ".venv");
/** Stamps of finished steps; git ignores it, and deleting it only makes the steps run again. */
export const STAMPS = join(ROOT, ".build", "stamps");
