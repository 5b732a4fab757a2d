// The static page web/dist: bundled, names carrying a digest of their contents, every address relative.
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { gzipSync } from "node:zlib";
import { BORE_WASM_FILE, CARD_WASM_FILE, SHOP_WASM_FILE, WASM_FILE } from "./core.mjs";
import { DIST, PKG, ROOT, WEB } from "./paths.mjs";
import { digest, filesUnder, once, run, say } from "./steps.mjs";

/** What is loaded when it is asked for, and not fetched ahead: help, and the rooms beside the bench. */
const LATE = /^web\/src\/panels\/(help\/|[^/]+\/room\.ts$)/;

/** Builds web/dist unless it already stands for these sources. web/pkg must be there. */
export async function page() {
  const sources = filesUnder("web/src", "web/index.html", "web/icon.svg", "web/tsconfig.json", "web/pkg", "examples/jobs/alto.json", "examples/jobs/tenor.json", "examples/sheets", "examples/bores", "web/scripts/page.mjs", "package-lock.json");
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

  const laid = (name, file) => {
    const wasm = readFileSync(join(PKG, file));
    const named = `${name}-${createHash("sha256").update(wasm).digest("hex").slice(0, 8)}.wasm`;
    writeFileSync(join(assets, named), wasm);
    return named;
  };
  const wasmName = laid("neckwright", WASM_FILE);
  const shopWasmName = laid("shop", SHOP_WASM_FILE);
  const boreWasmName = laid("bore", BORE_WASM_FILE);
  const cardWasmName = laid("card", CARD_WASM_FILE);

  /**
   * Bundles a file; resolves to the names written, its own first, then those of what it loads later. `soon`: without what is
   * loaded only when it is asked for, and whatever only that needs.
   */
  const bundled = async (entry, define = {}) => {
    const result = await bundle({
      entryPoints: [join(WEB, "src", entry)],
      outdir: assets,
      entryNames: "[name]-[hash]",
      chunkNames: "[name]-[hash]",
      absWorkingDir: ROOT,
      bundle: true,
      splitting: entry.endsWith(".ts"),
      format: "esm",
      target: "es2022",
      minify: true,
      legalComments: "eof",
      metafile: true,
      define,
    });
    const own = ([, { entryPoint }]) => (entryPoint !== undefined && join(ROOT, entryPoint) === join(WEB, "src", entry) ? 0 : 1);
    const { outputs } = result.metafile;
    const [first, ...others] = Object.entries(outputs)
      .sort((a, b) => own(a) - own(b))
      .map(([path]) => path);
    const soon = new Set();
    const follow = (path) => {
      if (outputs[path] === undefined || soon.has(path) || LATE.test(outputs[path].entryPoint ?? "")) return;
      soon.add(path);
      for (const { path: next } of outputs[path].imports) follow(next);
    };
    follow(first);
    return { own: basename(first), later: others.map((path) => basename(path)), soon: others.filter((path) => soon.has(path)).map((path) => basename(path)) };
  };
  const { own: helper } = await bundled("worker/helper.ts", { WASM_NAME: JSON.stringify(wasmName) });
  const { own: worker } = await bundled("worker/worker.ts", { WASM_NAME: JSON.stringify(wasmName), HELPER_NAME: JSON.stringify(helper) });
  const { own: shopWorker } = await bundled("worker/worker-shop.ts", { WASM_NAME: JSON.stringify(shopWasmName) });
  const { own: boreWorker } = await bundled("worker/worker-bore.ts", { WASM_NAME: JSON.stringify(boreWasmName) });
  const { own: cardWorker } = await bundled("worker/worker-card.ts", { WASM_NAME: JSON.stringify(cardWasmName) });
  const { own: main, later, soon } = await bundled("main.ts", { WORKER_NAME: JSON.stringify(worker), SHOP_WORKER_NAME: JSON.stringify(shopWorker), BORE_WORKER_NAME: JSON.stringify(boreWorker), CARD_WORKER_NAME: JSON.stringify(cardWorker) });
  const { own: style } = await bundled("style.css");

  const html = readFileSync(join(WEB, "index.html"), "utf8")
    .replace("assets/main.js", `assets/${main}`)
    .replace("assets/style.css", `assets/${style}`)
    .replace(/^.*"modulepreload".*\n/m, (line) => soon.map((name) => line.replace("assets/later.js", `assets/${name}`)).join(""));
  writeFileSync(join(DIST, "index.html"), html);
  writeFileSync(join(DIST, "icon.svg"), readFileSync(join(WEB, "icon.svg")));

  // beside the page, so that it answers for all that lies there; its own name never changes, its contents do with every build
  const files = ["icon.svg", ...[wasmName, worker, helper, main, ...later, style, shopWasmName, shopWorker, boreWasmName, boreWorker, cardWasmName, cardWorker].map((name) => `assets/${name}`)];
  await bundle({
    entryPoints: [join(WEB, "src", "keeping", "service.ts")],
    outfile: join(DIST, "offline.js"),
    bundle: true,
    format: "iife",
    target: "es2022",
    minify: true,
    define: { FILES: JSON.stringify(files), MAIN_NAME: JSON.stringify(main), VERSION: JSON.stringify(createHash("sha256").update(html).update(files.join()).digest("hex").slice(0, 8)) },
  });

  const zipped = (...names) => names.reduce((sum, name) => sum + gzipSync(readFileSync(join(assets, name)), { level: 9 }).length, 0);
  const kb = (bytes) => `${(bytes / 1000).toFixed(0)} kB`;
  const late = later.filter((name) => !soon.includes(name));
  process.stdout.write(
    `gzip: page scripts ${kb(zipped(main, ...soon))}, worker ${kb(zipped(worker))}, style ${kb(zipped(style))}, wasm ${kb(zipped(wasmName))}; ` +
      `when asked for: scripts ${kb(zipped(...late))}, shop worker ${kb(zipped(shopWorker))}, shop wasm ${kb(zipped(shopWasmName))}, bore worker ${kb(zipped(boreWorker))}, bore wasm ${kb(zipped(boreWasmName))}, card worker ${kb(zipped(cardWorker))}, card wasm ${kb(zipped(cardWasmName))}\n`,
  );
}
