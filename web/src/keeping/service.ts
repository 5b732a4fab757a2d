// Runs beside the page in the browser and answers for it when there is no network. What lies in assets/ is named by its
// contents, so what was fetched once is right for ever; only the page itself can be of an older or a newer version, and a newer
// one waits until the maker takes it.

// a module, so that its names are its own
export {};

/** The little of its own scope that is used here; the page's other files are typed for a window. */
interface Lasting extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface Fetched extends Lasting {
  request: Request;
  respondWith(answer: Promise<Response>): void;
}
declare const self: {
  registration: { scope: string };
  clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
  addEventListener(kind: "install" | "activate", listener: (event: Lasting) => void): void;
  addEventListener(kind: "fetch", listener: (event: Fetched) => void): void;
  addEventListener(kind: "message", listener: (event: MessageEvent) => void): void;
};

/** Put in by the build: a digest of the whole page, the files it is made of, and the script that its first file names. */
declare const VERSION: string;
declare const FILES: readonly string[];
declare const MAIN_NAME: string;

const scope = self.registration.scope;
/** Pages under other addresses of the same host have stores of their own. */
const family = `neckwright ${new URL(scope).pathname} `;

async function fetched(name: string): Promise<Response> {
  const address = new URL(name, scope).href;
  const byContents = name.startsWith("assets/");
  const there = byContents ? await caches.match(address) : undefined;
  if (there !== undefined) return there;
  const response = await fetch(address, { cache: byContents ? "default" : "no-cache" });
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  // what came by way of another address is not taken for a page
  return response.redirected ? new Response(await response.blob(), { headers: response.headers }) : response;
}

async function install(): Promise<void> {
  const page = await fetched("./");
  // a host that is just being given a newer page: the next visit finds it whole
  if (!(await page.clone().text()).includes(MAIN_NAME)) throw new Error("the page is of another version");
  const cache = await caches.open(family + VERSION);
  await cache.put(scope, page);
  await Promise.all(FILES.map(async (name) => cache.put(new URL(name, scope).href, await fetched(name))));
}

async function activate(): Promise<void> {
  // the version before stays for tabs that still show it: a core that is started again loads its files anew
  const old = (await caches.keys()).filter((name) => name.startsWith(family) && name !== family + VERSION);
  await Promise.all(old.slice(0, -1).map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function answer(address: string, request: Request): Promise<Response> {
  const own = await (await caches.open(family + VERSION)).match(address);
  return own ?? (await caches.match(address)) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", ({ data }) => {
  if (data === "take over") void self.skipWaiting();
});
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { href, search, hash } = new URL(request.url);
  const plain = href.slice(0, href.length - hash.length - search.length);
  if (request.method !== "GET" || !plain.startsWith(scope)) return;
  const name = plain.slice(scope.length);
  if (name === "" || name === "index.html") event.respondWith(answer(scope, request));
  else if (FILES.includes(name) || name.startsWith("assets/")) event.respondWith(answer(plain, request));
});
