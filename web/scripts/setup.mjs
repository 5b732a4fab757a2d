// Set-up of a fresh clone. Each function makes one thing ready and does nothing when it already is.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { ROOT, VENV } from "./paths.mjs";
import { StepError, digest, exists, filesUnder, once, output, run, say } from "./steps.mjs";

const isRoot = () => process.getuid?.() === 0;

/** Node packages, exactly as the lock file says. */
export async function nodePackages() {
  const major = Number(process.versions.node.split(".")[0]);
  if (major < 20) {
    throw new StepError(`Node ${process.versions.node} is too old: install Node 20 or newer, then run the same command again.`);
  }
  const modules = join(ROOT, "node_modules");
  await once(
    {
      name: "node-packages",
      inputs: digest(filesUnder("package.json", "package-lock.json"), process.platform, process.arch),
      result: join(modules, "esbuild"),
      // inside the folder it speaks for, so that deleting the folder deletes the stamp
      stamp: join(modules, ".neckwright-stamp"),
    },
    async () => {
      say("Node packages (npm ci)");
      const npm = process.env.npm_execpath;
      const [command, first] = npm === undefined ? ["npm", []] : [process.execPath, [npm]];
      await run(
        command,
        [...first, "ci"],
        "The Node packages could not be installed. If the lines above speak of the network, connect this machine, or name a\n" +
          "registry it can reach with `npm config set registry ADDRESS`; then run the same command again.",
      );
    },
  );
}

/** Cargo and the compiler, not older than Cargo.toml asks for. */
export function rust() {
  const wanted = /rust-version\s*=\s*"([\d.]+)"/.exec(readFileSync(join(ROOT, "Cargo.toml"), "utf8"))?.[1] ?? "1.95";
  const version = output("rustc", ["--version"]);
  if (version === undefined || !exists("cargo")) {
    throw new StepError(`Rust is missing: install Rust ${wanted} or newer (with rustup, so that the wasm target can be added), then run the same command again.`);
  }
  const [major, minor] = /(\d+)\.(\d+)/.exec(version).slice(1).map(Number);
  const [wantMajor, wantMinor] = wanted.split(".").map(Number);
  if (major < wantMajor || (major === wantMajor && minor < wantMinor)) {
    throw new StepError(`${version} is too old: this project needs Rust ${wanted}. With rustup: \`rustup update stable\`. Then run the same command again.`);
  }
  return version;
}

export const WASM_TARGET = "wasm32-unknown-unknown";

/** The standard library for wasm. */
export async function wasmTarget() {
  rust();
  const installed = () => {
    const folder = output("rustc", ["--print", "target-libdir", "--target", WASM_TARGET]);
    return folder !== undefined && existsSync(folder);
  };
  if (installed()) return;
  if (!exists("rustup")) {
    throw new StepError(
      `This Rust has no ${WASM_TARGET} and there is no rustup to add it. Install Rust with rustup, or install your\n` +
        "distribution's package of the standard library for that target (Debian: libstd-rust-dev-wasm32), then run the same command again.",
    );
  }
  say(`Rust target ${WASM_TARGET}`);
  await run(
    "rustup",
    ["target", "add", WASM_TARGET],
    `The Rust target could not be added. Connect this machine and run \`rustup target add ${WASM_TARGET}\`, then the same command again.`,
  );
}

async function debianPackage(name, why) {
  if (!exists("apt-get")) {
    throw new StepError(`${why} This machine has no apt-get: install ${name} your own way, then run the same command again.`);
  }
  if (!isRoot()) {
    throw new StepError(`${why} Installing it needs root: run \`sudo apt-get update && sudo apt-get install ${name}\`, then the same command again.`);
  }
  say(`Debian package ${name}`);
  const advice = `${why} The package could not be fetched: connect this machine, or install ${name} your own way, then run the same command again.`;
  const env = { DEBIAN_FRONTEND: "noninteractive" };
  await run("apt-get", ["update", "-q"], advice, env);
  await run("apt-get", ["install", "-y", "-q", "--no-install-recommends", name], advice, env);
}

/** As root, drawing without a graphics card, and asking nothing of other machines. */
export const CHROMIUM_FLAGS = [
  "--no-sandbox",
  "--enable-unsafe-swiftshader",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

const USUAL_CHROMIUM = ["/usr/bin/chromium", "/usr/bin/chromium-browser"];

/** Path of a Chromium for the browser tests; `CHROMIUM` names another. */
export async function chromium(usual = USUAL_CHROMIUM) {
  const named = process.env.CHROMIUM;
  if (named !== undefined) {
    if (existsSync(named)) return named;
    throw new StepError(`CHROMIUM names ${named}, which is not there: correct it or unset it.`);
  }
  const find = () => usual.find((path) => existsSync(path));
  if (find() === undefined) {
    await debianPackage("chromium", "The browser tests need Chromium (or set CHROMIUM to the path of one).");
  }
  const path = find();
  if (path === undefined) throw new StepError("Chromium was installed but is not where it is expected: set CHROMIUM to its path.");
  return path;
}

/** The Python of a private environment with the packages that check the exports from outside. Resolves to its path. */
export async function python() {
  if (!exists("python3")) {
    throw new StepError("Python 3 is missing (the checks of the exported files need it): install python3, then run the same command again.");
  }
  const requirements = filesUnder("tests/requirements.txt");
  const inside = join(VENV, "bin", "python");
  await once(
    {
      name: "python",
      inputs: digest(requirements, output("python3", ["--version"])),
      result: inside,
      stamp: join(VENV, ".neckwright-stamp"),
    },
    async () => {
      say("Python check packages (into .venv)");
      if (!exists("python3", ["-c", "import venv, ensurepip"])) {
        await debianPackage("python3-venv", "Python's module venv is missing.");
      }
      await run("python3", ["-m", "venv", "--clear", VENV], "The Python environment .venv could not be made: see the lines above.");
      await run(
        inside,
        ["-m", "pip", "install", "--disable-pip-version-check", "-q", "-r", join("tests", "requirements.txt")],
        "The Python packages of tests/requirements.txt could not be installed. If the lines above speak of the network, connect this\n" +
          "machine, or name an index it can reach with `pip config set global.index-url ADDRESS`; then run the same command again.",
      );
    },
  );
  return inside;
}
