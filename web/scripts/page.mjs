// The static page web/dist: bundled, names carrying a digest of their contents, every address relative.
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { gzipSync } from "node:zlib";
import { WASM_FILE } from "./core.mjs";
import { DIST, PKG, ROOT, WEB } from "./paths.mjs";
import { digest, filesUnder, once, run, say } from "./steps.mjs";

/** Builds web/dist unless it already stands for these sources. web/pkg must be there. */
export async function page() {
  const sources = filesUnder("web/src", "web/index.html", "web/icon.svg", "web/tsconfig.json", "web/pkg", "web/scripts/page.mjs", "package-lock.json");
  await once({ name: "page", inputs: digest(sources), result: join(DIST, "index.html") }, build);
}

/** Checks the page's types without writing anything. */
export async function pageTypes() {
  await run(process.execPath, [join(ROOT, "node_modules", "typescript", "bin", "tsc"), "--project", join(WEB, "tsconfig.json")], "The page's types do not agree: see the lines above.");
}

async function build() {
  say("Page");
  const { build: bundle } = await import("esbuild");
  const assets = join(DIST, "assets");
  rmSync(DIST, { recursive: true, force: true });
  mkdirSync(assets, { recursive: true });

  const wasm = readFileSync(join(PKG, WASM_FILE));
  const wasmName = `neckwright-${createHash("sha256").update(wasm).digest("hex").slice(0, 8)}.wasm`;
  writeFileSync(join(assets, wasmName), wasm);

  const bundled = async (entry, define = {}) => {
    const result = await bundle({
      entryPoints: [join(WEB, "src", entry)],
      outdir: assets,
      entryNames: "[name]-[hash]",
      bundle: true,
      format: "esm",
      target: "es2022",
      minify: true,
      legalComments: "eof",
      metafile: true,
      define,
    });
    return basename(Object.keys(result.metafile.outputs)[0]);
  };
  const worker = await bundled("worker/worker.ts", { WASM_NAME: JSON.stringify(wasmName) });
  const main = await bundled("main.ts", { WORKER_NAME: JSON.stringify(worker) });
  const style = await bundled("style.css");

  const html = readFileSync(join(WEB, "index.html"), "utf8")
    .replace("assets/main.js", `assets/${main}`)
    .replace("assets/style.css", `assets/${style}`);
  writeFileSync(join(DIST, "index.html"), html);
  writeFileSync(join(DIST, "icon.svg"), readFileSync(join(WEB, "icon.svg")));

  const zipped = (name) => gzipSync(readFileSync(join(assets, name)), { level: 9 }).length;
  const kb = (bytes) => `${(bytes / 1000).toFixed(0)} kB`;
  process.stdout.write(`gzip: page script ${kb(zipped(main))}, worker ${kb(zipped(worker))}, style ${kb(zipped(style))}, wasm ${kb(zipped(wasmName))}\n`);
}
