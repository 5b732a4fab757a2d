// A machine on which something is missing. The scripts are copied to a folder of their own, as in a fresh clone, and run
// with a PATH that holds only what a test puts there: each must stop with one message that says what to install or do.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { chmodSync, cpSync, existsSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, beforeEach, test } from "node:test";
import { ROOT } from "../../web/scripts/paths.mjs";

const made = [];
let clone;
let commands;

beforeEach(() => {
  clone = mkdtempSync(join(tmpdir(), "neckwright-clone-"));
  made.push(clone);
  for (const file of ["package.json", "package-lock.json", "Cargo.toml", "web/scripts", "tests/requirements.txt"]) {
    cpSync(join(ROOT, file), join(clone, file), { recursive: true });
  }
  commands = join(clone, "commands");
  mkdirSync(commands);
});
after(() => made.forEach((folder) => rmSync(folder, { recursive: true, force: true })));

/** Puts a command on the machine. */
function command(name, script) {
  writeFileSync(join(commands, name), `#!/bin/sh\n${script}\n`);
  chmodSync(join(commands, name), 0o755);
}

/** Calls one step of the set-up on that machine. `prelude` runs before it. */
function step(call, { env = {}, prelude = "" } = {}) {
  const code = `${prelude}
    const setup = await import("./web/scripts/setup.mjs");
    const { main } = await import("./web/scripts/steps.mjs");
    await main(async () => { await ${call}; console.log("went on"); });`;
  const ran = spawnSync(process.execPath, ["--input-type=module", "--eval", code], {
    cwd: clone,
    encoding: "utf8",
    env: { PATH: `${commands}:/bin`, HOME: clone, ...env },
  });
  return { ...ran, said: ran.stderr.slice(ran.stderr.indexOf("Stopped:")) };
}

function stops({ status, stdout, said }, ...patterns) {
  assert.equal(status, 1);
  assert.doesNotMatch(stdout, /went on/);
  for (const pattern of patterns) assert.match(said, pattern);
  assert.doesNotMatch(said, /at .*\.mjs:\d+/, "no stack, which would say nothing to the reader");
}

const RUST = 'case "$*" in --version) echo "rustc 1.99.0";; *target-libdir*) echo /nowhere/at/all;; esac';

test("no Rust", () => stops(step("setup.wasmTarget()", { env: { PATH: commands } }), /Rust is missing/, /rustup/));

test("a Rust that is too old", () => {
  command("rustc", 'echo "rustc 1.60.0"');
  command("cargo", "exit 0");
  stops(step("setup.wasmTarget()", { env: { PATH: commands } }), /1\.60\.0 is too old/, /rustup update/);
});

test("no wasm target and no rustup to add it", () => {
  command("rustc", RUST);
  command("cargo", "exit 0");
  stops(step("setup.wasmTarget()", { env: { PATH: commands } }), /no wasm32-unknown-unknown and there is no rustup/, /libstd-rust-dev-wasm32/);
});

test("the wasm target cannot be fetched", () => {
  command("rustc", RUST);
  command("cargo", "exit 0");
  command("rustup", '[ "$1" = --version ] || { echo "could not download" >&2; exit 1; }');
  stops(step("setup.wasmTarget()", { env: { PATH: commands } }), /rustup target add wasm32-unknown-unknown` ended with 1/, /Connect this machine/);
});

test("Node packages cannot be fetched, and are fetched the next time", () => {
  const npm = join(clone, "npm.cjs");
  const env = { npm_execpath: npm };
  writeFileSync(npm, 'console.error("network"); process.exit(1);');
  stops(step("setup.nodePackages()", { env }), /Node packages could not be installed/, /npm config set registry/);
  writeFileSync(npm, 'require("fs").mkdirSync("node_modules/esbuild", { recursive: true }); console.log("installed");');
  const second = step("setup.nodePackages()", { env });
  assert.match(second.stdout, /installed[^]*went on/);
  const third = step("setup.nodePackages()", { env });
  assert.doesNotMatch(third.stdout, /installed/, "a second run repeats nothing");
  writeFileSync(join(clone, "package-lock.json"), "{}");
  assert.match(step("setup.nodePackages()", { env }).stdout, /installed/, "but a changed lock file does");
});

test("no Chromium: without root, without apt-get, and with a package server out of reach", () => {
  const call = 'setup.chromium(["/nowhere/chromium"])';
  const maker = { prelude: "process.getuid = () => 1000;" };
  const root = { prelude: "process.getuid = () => 0;" };
  stops(step(call, { ...root, env: { PATH: commands } }), /no apt-get/, /install chromium/);
  command("apt-get", '[ "$1" = --version ] || { echo "Could not resolve" >&2; exit 100; }');
  stops(step(call, maker), /needs root/, /sudo apt-get install chromium|apt-get install chromium/);
  stops(step(call, root), /could not be fetched/, /connect this machine/);
  stops(step(call, { ...maker, env: { CHROMIUM: "/nowhere/else" } }), /CHROMIUM names \/nowhere\/else, which is not there/);
});

test("no Python, and Python packages out of reach", () => {
  stops(step("setup.python()", { env: { PATH: commands } }), /Python 3 is missing/);
  const python = spawnSync("sh", ["-c", "command -v python3"], { encoding: "utf8" }).stdout.trim();
  symlinkSync(python, join(commands, "python3"));
  const env = { PATH: `${commands}:${process.env.PATH}`, PIP_INDEX_URL: "http://127.0.0.1:9/simple", PIP_RETRIES: "0", PIP_NO_CACHE_DIR: "1", PIP_DISABLE_PIP_VERSION_CHECK: "1" };
  stops(step("setup.python()", { env }), /Python packages of tests\/requirements.txt could not be installed/, /pip config set/);
  assert.equal(existsSync(join(clone, ".venv", ".neckwright-stamp")), false, "and it is tried again the next time");
});
