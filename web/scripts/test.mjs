// npm test: all set-up, then every test. `npm test -- --only rust,occt` runs some stages.
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { corePackage } from "./core.mjs";
import { page, pageTypes } from "./page.mjs";
import { ROOT } from "./paths.mjs";
import { chromium, nodePackages, python, rust } from "./setup.mjs";
import { StepError, exists, main, run, say } from "./steps.mjs";

const testFiles = (room) =>
  readdirSync(join(ROOT, "tests", room))
    .filter((name) => name.endsWith(".test.mjs"))
    .sort()
    .map((name) => join("tests", room, name));

const STAGES = {
  set_up: {
    what: "Set-up: what is said when something is missing",
    setUp: () => undefined,
    run: () => run(process.execPath, ["--test", ...testFiles("set_up")], "A test of the set-up failed: its name and reason are above."),
  },
  rust: {
    what: "Rust: the core's own tests",
    setUp: () => rust(),
    run: () => run("cargo", ["test", "--release"], "A Rust test failed: its name and reason are above."),
  },
  lint: {
    what: "Rust: lints",
    setUp: () => rust(),
    run: async () => {
      if (exists("cargo", ["fmt", "--version"])) {
        await run("cargo", ["fmt", "--all", "--check"], "Some Rust is not laid out as the formatter does: `cargo fmt --all` mends it.");
      }
      if (exists("cargo", ["clippy", "--version"])) {
        return run("cargo", ["clippy", "--release", "--all-targets", "--", "-D", "warnings"], "Clippy has something to say: see above.");
      }
      process.stdout.write("clippy is not part of this Rust: left out (with rustup: `rustup component add clippy`)\n");
      return "";
    },
  },
  plugin: {
    what: "Plug-in: web/pkg under wasm against the host",
    setUp: () => corePackage(),
    run: () => run(process.execPath, ["--test", ...testFiles("plugin")], "A plug-in test failed: its name and reason are above."),
  },
  occt: {
    what: "Exports: judged from outside in Python",
    setUp: () => python(),
    run: async () => run(await python(), ["-m", "pytest", "-q", join("tests", "occt")], "A check of the exports failed: its name and reason are above."),
  },
  browser: {
    what: "Page: driven in Chromium",
    setUp: async () => {
      await chromium();
      await corePackage();
      await page();
    },
    run: async () => {
      await pageTypes();
      return run(process.execPath, ["--test", "--test-concurrency=1", ...testFiles("browser")], "A browser test failed: its name and reason are above.", {
        CHROMIUM: await chromium(),
      });
    },
  },
};

/** Passed and failed tests by the closing lines of the three runners used here. */
function count(printed) {
  const sum = (pattern) => [...printed.matchAll(pattern)].reduce((total, found) => total + Number(found[1]), 0);
  return {
    passed: sum(/^test result: \w+\. (\d+) passed/gm) + sum(/^[ℹ#] pass (\d+)/gm) + sum(/^(?:=+ )?(?:\d+ failed, )?(\d+) passed.* in [\d.]+s/gm),
    failed: sum(/^test result: \w+\. \d+ passed; (\d+) failed/gm) + sum(/^[ℹ#] fail (\d+)/gm) + sum(/^(?:=+ )?(\d+) failed.* in [\d.]+s/gm),
  };
}

function chosenStages() {
  const flag = process.argv.indexOf("--only");
  if (flag < 0) return Object.keys(STAGES);
  const names = (process.argv[flag + 1] ?? "").split(",");
  const unknown = names.filter((name) => !(name in STAGES));
  if (unknown.length > 0) throw new StepError(`No such stage: ${unknown.join(", ")}. There are ${Object.keys(STAGES).join(", ")}.`);
  return names;
}

await main(async () => {
  const names = chosenStages();
  await nodePackages();
  // set-up first, so that what is missing is told at once and not after minutes of tests
  for (const name of names) await STAGES[name].setUp();

  let passed = 0;
  const took = [];
  const finish = (failed) => {
    process.stdout.write(`\n${took.join("\n")}\n${passed} passed, ${failed} failed\n`);
  };
  for (const name of names) {
    say(STAGES[name].what);
    const start = Date.now();
    const note = (word) => took.push(`${name.padEnd(8)} ${word} in ${((Date.now() - start) / 1000).toFixed(0)} s`);
    try {
      passed += count(await STAGES[name].run()).passed;
      note("passed");
    } catch (error) {
      const counted = count(error.printed ?? "");
      passed += counted.passed;
      note("FAILED");
      // a stage can also fail without a failed test, by not compiling for one
      finish(Math.max(1, counted.failed));
      throw error;
    }
  }
  finish(0);
});
