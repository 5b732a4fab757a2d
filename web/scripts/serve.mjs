// A small server of static files for this machine only: the page, the tests and the benchmark use it.
import { createReadStream } from "node:fs";
import { stat } from "node:fs/promises";
import { createServer } from "node:http";
import { extname, join, normalize, sep } from "node:path";
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

/**
 * Serves folders on the loopback address. `folders` maps a path that ends in `/` to a folder; the longest match wins.
 * Port 0 takes any free one. Resolves to `{ url, close }`.
 */
export function serve(folders, port) {
  const mounts = Object.entries(folders).sort(([a], [b]) => b.length - a.length);
  const server = createServer((request, response) => {
    answer(mounts, request, response).catch(() => {
      if (!response.headersSent) response.writeHead(500);
      response.end();
    });
  });
  return new Promise((resolve, reject) => {
    server.on("error", (error) => {
      reject(
        error.code === "EADDRINUSE"
          ? new StepError(`Port ${port} is taken by another program. Choose another: PORT=${port + 1} npm start`)
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
  const found = await stat(file).catch(() => undefined);
  if (found === undefined || !found.isFile()) return refuse(404);
  response.writeHead(200, {
    "content-type": TYPES[extname(file)] ?? "application/octet-stream",
    "content-length": found.size,
    // names in assets/ carry a digest of their contents; all else may change with the next build
    "cache-control": path.includes("/assets/") ? "public, max-age=31536000, immutable" : "no-cache",
    "x-content-type-options": "nosniff",
  });
  if (request.method === "HEAD") response.end();
  else createReadStream(file).pipe(response);
}
