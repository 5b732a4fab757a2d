// Running one step of set-up or build: say what is done, do it, and if it fails say what the reader can do about it.
import { spawn, spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { ROOT, STAMPS } from "./paths.mjs";

/** A failure whose message tells the reader what to install or do. Printed without a stack. */
export class StepError extends Error {}

/** One line on the terminal before a step that takes time. */
export function say(text) {
  process.stdout.write(`\n== ${text}\n`);
}

/** Whether `command` starts on this machine. */
export function exists(command, args = ["--version"]) {
  const tried = spawnSync(command, args, { stdio: "ignore" });
  return tried.error === undefined && tried.status === 0;
}

/** Standard output of a short command, trimmed, or undefined when it cannot run or fails. */
export function output(command, args) {
  const ran = spawnSync(command, args, { encoding: "utf8", cwd: ROOT, maxBuffer: 64 * 1024 * 1024 });
  return ran.error === undefined && ran.status === 0 ? ran.stdout.trim() : undefined;
}

/**
 * Runs a command in the project's folder, its output shown as it comes.
 * Resolves to everything it printed; rejects with `StepError(advice)` when it cannot run or fails.
 */
export function run(command, args, advice, env = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, {
      cwd: ROOT,
      env: { ...process.env, ...env },
      stdio: ["ignore", "pipe", "pipe"],
    });
    const printed = [];
    child.stdout.on("data", (chunk) => {
      printed.push(chunk);
      process.stdout.write(chunk);
    });
    child.stderr.on("data", (chunk) => {
      printed.push(chunk);
      process.stderr.write(chunk);
    });
    const text = () => Buffer.concat(printed).toString("utf8");
    child.on("error", (error) => reject(failure(`${command} could not be started (${error.message}).\n${advice}`, text())));
    child.on("close", (code) => {
      if (code === 0) resolve(text());
      else reject(failure(`\`${[command, ...args].join(" ")}\` ended with ${code}.\n${advice}`, text()));
    });
  });
}

function failure(message, printed) {
  const error = new StepError(message);
  error.printed = printed;
  return error;
}

/** Every file under the given files and folders (relative to the project), in a fixed order. */
export function filesUnder(...starts) {
  const found = [];
  const walk = (path) => {
    if (!existsSync(path)) return;
    if (!statSync(path).isDirectory()) {
      found.push(path);
      return;
    }
    for (const name of readdirSync(path).sort()) {
      if (name !== "target" && name !== "node_modules") walk(join(path, name));
    }
  };
  for (const start of starts) walk(join(ROOT, start));
  return found;
}

/** One digest of the contents of files and of any further words (tool versions). */
export function digest(files, ...words) {
  const hash = createHash("sha256");
  for (const file of files) hash.update(`${relative(ROOT, file)}\0`).update(readFileSync(file)).update("\0");
  for (const word of words) hash.update(`${word}\0`);
  return hash.digest("hex");
}

/**
 * Does `work` unless it was done before for the same inputs and its result still stands.
 * The stamp is by content, so a fresh check-out or a touched file repeats nothing.
 */
export async function once({ name, inputs, result, stamp = join(STAMPS, name) }, work) {
  const done = existsSync(result) && existsSync(stamp) && readFileSync(stamp, "utf8") === inputs;
  if (done) return false;
  await work();
  mkdirSync(dirname(stamp), { recursive: true });
  writeFileSync(stamp, inputs);
  return true;
}

/** Runs a script's main function; a `StepError` is told plainly, anything else with its stack. */
export async function main(work) {
  try {
    await work();
  } catch (error) {
    if (error instanceof StepError) process.stderr.write(`\nStopped: ${error.message}\n`);
    else process.stderr.write(`\nStopped by a fault in the scripts themselves:\n${error?.stack ?? error}\n`);
    process.exitCode = 1;
  }
}
