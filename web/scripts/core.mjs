// The core as wasm: compiled four times, as the page's core, as the module of the shop's files, as that which compares
// bores and as that of the job card, bound to JavaScript, and packed as the npm package web/pkg.
import { mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { PKG, ROOT } from "./paths.mjs";
import { rust, WASM_TARGET, wasmTarget } from "./setup.mjs";
import { StepError, digest, filesUnder, once, output, run, say } from "./steps.mjs";

/**
 * The modules made of the crate, with what a visitor may be asked to wait for: their size as servers send it, compressed.
 * The page waits for the first; the second is loaded when something is to be sent out, the third when bores are compared,
 * the fourth with the job card.
 */
const MODULES = [
  { name: "neckwright", features: [], limitKb: 600 },
  { name: "neckwright_shop", features: ["shop"], limitKb: 900 },
  { name: "neckwright_bore", features: ["bore"], limitKb: 400 },
  { name: "neckwright_card", features: ["card"], limitKb: 800 },
];

export const WASM_FILE = "neckwright_bg.wasm";
export const SHOP_WASM_FILE = "neckwright_shop_bg.wasm";
export const BORE_WASM_FILE = "neckwright_bore_bg.wasm";
export const CARD_WASM_FILE = "neckwright_card_bg.wasm";

/** Builds web/pkg unless it already stands for these sources. */
export async function corePackage() {
  const version = rust();
  await wasmTarget();
  const sources = filesUnder("Cargo.toml", "Cargo.lock", "crate/src", "crate/glue", "examples/jobs", "web/scripts/core.mjs", "web/pkg-readme.md", "package-lock.json");
  await once({ name: "core", inputs: digest(sources, version), result: join(PKG, CARD_WASM_FILE) }, build);
}

async function build() {
  const metadata = output("cargo", ["metadata", "--no-deps", "--format-version", "1"]);
  if (metadata === undefined) throw new StepError("`cargo metadata` failed: is Cargo.toml sound?");
  const compiled = join(JSON.parse(metadata).target_directory, WASM_TARGET, "wasm", "neckwright.wasm");
  rmSync(PKG, { recursive: true, force: true });
  mkdirSync(PKG, { recursive: true });
  for (const module of MODULES) await buildModule(module, compiled);
  pack();
}

async function buildModule({ name, features, limitKb }, compiled) {
  const advice = "The core did not build: see the lines above.";
  say(`Core to wasm: ${name}`);
  await run(
    "cargo",
    ["rustc", "--lib", "--profile", "wasm", "--target", WASM_TARGET, "--crate-type", "cdylib", ...features.flatMap((feature) => ["--features", feature])],
    `${advice} If they speak of the network: the first build fetches crates, so connect this machine once.`,
  );

  say(`JavaScript and types round the wasm: ${name}`);
  await run("cargo", ["run", "--package", "neckwright-glue", "--", compiled, PKG, name], advice);

  const wasm = join(PKG, `${name}_bg.wasm`);
  say(`wasm-opt: ${name}`);
  const before = readFileSync(wasm);
  await run(process.execPath, [join(ROOT, "node_modules", "binaryen", "bin", "wasm-opt"), "-O3", wasm, "-o", wasm], advice);
  weigh(name, before, readFileSync(wasm), limitKb);
}

function pack() {
  const version = /^version\s*=\s*"([^"]+)"/m.exec(readFileSync(join(ROOT, "Cargo.toml"), "utf8"))[1];
  writeFileSync(
    join(PKG, "package.json"),
    `${JSON.stringify(
      {
        name: "neckwright",
        version,
        description: "Parametric core for hand-made saxophone necks: a job in; solids, meshes, clearances, STEP and STL out; files for the shops.",
        type: "module",
        main: "neckwright.js",
        types: "neckwright.d.ts",
        exports: {
          ".": { types: "./neckwright.d.ts", default: "./neckwright.js" },
          "./neckwright_bg.wasm": "./neckwright_bg.wasm",
          "./bore": { types: "./neckwright_bore.d.ts", default: "./neckwright_bore.js" },
          "./neckwright_bore_bg.wasm": "./neckwright_bore_bg.wasm",
          "./card": { types: "./neckwright_card.d.ts", default: "./neckwright_card.js" },
          "./neckwright_card_bg.wasm": "./neckwright_card_bg.wasm",
          "./shop": { types: "./neckwright_shop.d.ts", default: "./neckwright_shop.js" },
          "./neckwright_shop_bg.wasm": "./neckwright_shop_bg.wasm",
        },
        files: readdirSync(PKG).concat("README.md").sort(),
        sideEffects: false,
        license: "MIT",
      },
      null,
      2,
    )}\n`,
  );
  writeFileSync(join(PKG, "README.md"), readFileSync(join(ROOT, "web", "pkg-readme.md")));
}

function weigh(name, before, after, limitKb) {
  const kb = (bytes) => `${(bytes / 1000).toFixed(0)} kB`;
  const zipped = gzipSync(after, { level: 9 }).length;
  process.stdout.write(
    `${name} ${kb(before.length)} before wasm-opt (${kb(gzipSync(before, { level: 9 }).length)} gzip), ` +
      `${kb(after.length)} after: ${kb(zipped)} gzip of ${limitKb} kB allowed\n`,
  );
  if (zipped > limitKb * 1000) {
    throw new StepError(`The wasm of ${name} is ${kb(zipped)} gzip; no more than ${limitKb} kB is allowed.`);
  }
}
