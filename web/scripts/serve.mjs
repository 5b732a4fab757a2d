// A small server of static files for this machine only: the page, the tests and the benchmark use it.
import { open } from "node:fs/promises";
import { createServer } from "node:http";
import { extname, join, normalize, sep } from "node:path";
import { pipeline } from "node:stream/promises";
import { StepError } from "./steps.mjs";

const TYPES = {
  ".html": "text/html; charset=utf-8",
  ".js": "text/javascript; charset=utf-8",
  ".mjs": "text/javascript; charset=utf-8",
  ".css": "text/css; charset=utf-8",
  ".json": "application/json; charset=utf-8",
  ".svg": "image/svg+xml",
  ".wasm": "application/wasm",
};

const USUAL_PORT = 4173;

/**
 * Serves folders on the loopback address. `folders` maps a path that ends in `/` to a folder; the longest match wins.
 * Port 0 takes any free one. Resolves to `{ url, close }`.
 */
export function serve(folders, port) {
  const mounts = Object.entries(folders).sort(([a], [b]) => b.length - a.length);
  const server = createServer((request, response) => {
    answer(mounts, request, response).catch(() => {
      // half an answer is worse than none: the connection ends, and the browser knows that something is missing
      if (response.headersSent) response.destroy();
      else response.writeHead(500).end();
    });
  });
  return new Promise((resolve, reject) => {
    server.on("error", (error) => {
      reject(
        error.code === "EADDRINUSE"
          ? new StepError(`Port ${port} is taken by another program. Choose another: PORT=${port < 65535 ? port + 1 : USUAL_PORT} npm start`)
          : error,
      );
    });
    server.listen(port, "127.0.0.1", () => {
      resolve({
        url: `http://127.0.0.1:${server.address().port}`,
        close: () =>
          new Promise((closed) => {
            server.close(closed);
            server.closeAllConnections();
          }),
      });
    });
  });
}

async function answer(mounts, request, response) {
  const refuse = (status) => {
    response.writeHead(status, { "content-type": "text/plain; charset=utf-8" });
    response.end(`${status}\n`);
  };
  if (request.method !== "GET" && request.method !== "HEAD") return refuse(405);
  let path;
  try {
    path = decodeURIComponent(new URL(request.url, "http://localhost").pathname);
  } catch {
    return refuse(400);
  }
  const mount = mounts.find(([prefix]) => path.startsWith(prefix));
  if (mount === undefined) return refuse(404);
  const folder = normalize(mount[1] + sep);
  let file = normalize(join(folder, path.slice(mount[0].length)));
  if (!file.startsWith(folder) || file.includes("\0")) return refuse(404);
  if (path.endsWith("/")) file = join(file, "index.html");
  const content = await open(file).catch(() => undefined);
  if (content === undefined) return refuse(404);
  try {
    const found = await content.stat();
    if (!found.isFile()) return refuse(404);
    response.writeHead(200, {
      "content-type": TYPES[extname(file)] ?? "application/octet-stream",
      "content-length": found.size,
      // names in assets/ carry a digest of their contents; all else may change with the next build
      "cache-control": path.includes("/assets/") ? "public, max-age=31536000, immutable" : "no-cache",
      "x-content-type-options": "nosniff",
    });
    if (request.method === "HEAD") response.end();
    else await pipeline(content.createReadStream({ autoClose: false }), response);
  } finally {
    await content.close();
  }
}

/** Port named by the variable PORT, or the usual one when there is none. */
export function portFrom(text) {
  if (text === undefined) return USUAL_PORT;
  const port = /^\d+$/.test(text) ? Number(text) : 0;
  if (port < 1 || port > 65535) {
    throw new StepError(`PORT is "${text}": give a whole number from 1 to 65535, or leave it out for ${USUAL_PORT}.`);
  }
  return port;
}
