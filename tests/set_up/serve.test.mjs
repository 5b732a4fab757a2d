// The small server, and the port it is asked for.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { ROOT } from "../../web/scripts/paths.mjs";
import { portFrom, serve } from "../../web/scripts/serve.mjs";

let folder;
let server;
before(async () => {
  folder = mkdtempSync(join(tmpdir(), "neckwright-serve-"));
  writeFileSync(join(folder, "index.html"), "<p>here</p>");
  server = await serve({ "/": folder }, 0);
});
after(async () => {
  await server.close();
  rmSync(folder, { recursive: true, force: true });
});

const ask = (path, options) => fetch(`${server.url}${path}`, { signal: AbortSignal.timeout(5000), ...options });

test("a file is served whole, and what is not there is said to be missing", async () => {
  const found = await ask("/");
  assert.equal(await found.text(), "<p>here</p>");
  assert.equal(found.headers.get("content-type"), "text/html; charset=utf-8");
  assert.equal((await ask("/", { method: "HEAD" })).headers.get("content-length"), "11");
  for (const path of ["/nothing.js", "/..%2f..%2fetc/passwd", "/index.html%00"]) assert.equal((await ask(path)).status, 404, path);
  assert.equal((await ask("/", { method: "POST" })).status, 405);
});

test("a file that cannot be read to its end ends the answer, and the server goes on", { skip: process.platform !== "linux" }, async () => {
  // the kernel calls this a file and refuses to read it
  symlinkSync("/proc/self/mem", join(folder, "bad.bin"));
  await assert.rejects(ask("/bad.bin").then((response) => response.arrayBuffer()), (error) => error.name !== "TimeoutError");
  assert.equal((await ask("/")).status, 200);
});

test("a port that is none is told, and nothing is set up for it", () => {
  assert.equal(portFrom(undefined), 4173);
  assert.equal(portFrom("8080"), 8080);
  for (const PORT of ["0", "", "65536", "-1", "80.5", "http"]) {
    const ran = spawnSync(process.execPath, [join("web", "scripts", "start.mjs")], { cwd: ROOT, encoding: "utf8", env: { ...process.env, PORT } });
    assert.equal(ran.status, 1);
    assert.equal(ran.stderr.trim(), `Stopped: PORT is "${PORT}": give a whole number from 1 to 65535, or leave it out for 4173.`);
  }
});
