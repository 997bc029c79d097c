/* Keeps the pages that were opened last, for when there is no signal. It runs where the browser lets
   it: on this computer, and over https.

   Only pages that the server marks (`Halfbay-Keep`) are kept, for one person at a time: each answer
   says who it was made for (`Halfbay-Who`), and what was kept for anybody else is wiped. An answer made
   for nobody, like the page to sign in, wipes all. The network always comes first. */
"use strict";

const PAGES = "halfbay-pages-"; /* and who they were made for */
const FILES = "halfbay-files";
const MOST_PAGES = 80;
const MOST_FILES = 120;
const OLDEST = 14 * 24 * 3600 * 1000;
const PATIENCE = 6000; /* ms that a kept page waits for a newer one */
const KEPT_AT = "Halfbay-Kept-At";
const HASHED = /\.[0-9a-f]{12}\.[a-z0-9]+$/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const request = event.request;
  if (request.method !== "GET") return;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(event, bare(url)));
  else if (url.pathname.startsWith("/static/")) event.respondWith(file(request));
});

self.addEventListener("message", (event) => {
  const asked = event.data || {};
  if (asked.wipe) event.waitUntil(wipe(""));
  else if (asked.page) event.waitUntil(keepOpened(asked.page, asked.files || []));
});

function bare(url) { return url.pathname + url.search; }

async function page(event, address) {
  const copy = await kept(address);
  const answer = fetch(event.request).then((response) => {
    event.waitUntil(heard(address, response.clone()).catch(() => {}));
    return response;
  });
  if (!copy) return answer.catch(() => noCopy());
  const late = new Promise((resolve) => setTimeout(resolve, PATIENCE, null));
  const first = await Promise.race([answer.catch(() => null), late]);
  event.waitUntil(answer.catch(() => {}));
  /* what a proxy says while the server is away */
  return first && ![502, 503, 504].includes(first.status) ? first : shown(copy);
}

/* What an answer means for what is kept. */
async function heard(address, response) {
  const who = response.headers.get("Halfbay-Who");
  if (who === null) return; /* not an answer of ours */
  await wipe(who);
  if (!who) return;
  if (response.ok && response.headers.get("Halfbay-Keep")) await keep(who, address, response);
  else if ([403, 404, 410].includes(response.status)) await drop(who, address);
}

/* Wipe what was kept for anybody but one person. */
async function wipe(who) {
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) && name !== PAGES + who) await caches.delete(name);
  }
}

async function keep(who, address, response) {
  const headers = new Headers(response.headers);
  for (const name of ["Content-Encoding", "Content-Length", "Set-Cookie"]) headers.delete(name);
  headers.set(KEPT_AT, new Date().toISOString());
  const copy = new Response(await response.blob(), { status: 200, headers });
  const pages = await caches.open(PAGES + who);
  await pages.delete(address, { ignoreVary: true });
  await pages.put(address, copy);
  await prune(pages, MOST_PAGES);
}

async function prune(cache, most) {
  const all = await cache.keys(); /* the first put in comes first */
  for (const old of all.slice(0, Math.max(0, all.length - most))) await cache.delete(old, { ignoreVary: true });
}

/* A page is closed to this person, or gone: look whether others are too. */
async function drop(who, address) {
  const pages = await caches.open(PAGES + who);
  await pages.delete(address, { ignoreVary: true });
  for (const other of await pages.keys()) {
    const answer = await fetch(other.url, { redirect: "manual" }).catch(() => null);
    if (answer && [403, 404, 410].includes(answer.status)) await pages.delete(other, { ignoreVary: true });
  }
}

async function keptPages() {
  const name = (await caches.keys()).find((each) => each.startsWith(PAGES));
  return name ? caches.open(name) : null;
}

async function kept(address) {
  const pages = await keptPages();
  if (!pages) return null;
  const copy = (await pages.match(address, { ignoreVary: true })) ||
    (await pages.match(address, { ignoreVary: true, ignoreSearch: true }));
  if (!copy) return null;
  if (Date.now() - Date.parse(copy.headers.get(KEPT_AT)) < OLDEST) return copy;
  await pages.delete(address, { ignoreVary: true, ignoreSearch: true });
  return null;
}

/* The copy says of itself that it is one, and of when. */
async function shown(copy) {
  const at = copy.headers.get(KEPT_AT);
  const text = (await copy.text()).replace("<html ", `<html data-kept="${at}" `);
  return new Response(text, { status: 200, headers: copy.headers });
}

async function file(request) {
  const files = await caches.open(FILES);
  if (HASHED.test(new URL(request.url).pathname)) {
    const copy = await files.match(request, { ignoreVary: true });
    if (copy) return copy; /* another content has another name */
  }
  try {
    const response = await fetch(request);
    if (response.ok) {
      await files.put(request, response.clone());
      await prune(files, MOST_FILES);
    }
    return response;
  } catch (error) {
    const copy = await files.match(request, { ignoreVary: true });
    if (copy) return copy;
    throw error;
  }
}

/* The page from which the worker was begun, and what it is shown with. */
async function keepOpened(address, urls) {
  const response = await fetch(address, { redirect: "manual" });
  await heard(address, response);
  for (const url of urls) {
    const path = new URL(url);
    if (path.origin === self.location.origin && path.pathname.startsWith("/static/")) {
      await file(new Request(url)).catch(() => {});
    }
  }
}

function escaped(text) {
  return text.replace(/[&<>"]/g, (each) => `&#${each.charCodeAt(0)};`);
}

/* No signal, and this page was never opened here: say so, and what there is instead. */
async function noCopy() {
  const pages = await keptPages();
  const lines = [];
  for (const request of pages ? (await pages.keys()).reverse() : []) {
    const text = await (await pages.match(request, { ignoreVary: true })).text();
    const title = (/<title>([^<]*)<\/title>/.exec(text) || ["", request.url])[1].trim();
    /* the title stands in the copy as written by the server, with its own escapes */
    lines.push(`<li><a href="${escaped(bare(new URL(request.url)))}">${title}</a></li>`);
  }
  const list = lines.length
    ? `<p>These pages are kept on this phone:</p><ul>${lines.join("")}</ul>`
    : "<p>No page is kept on this phone yet. Pages of rooms, cards and lists are kept once they were opened.</p>";
  const html = '<!doctype html><html lang="en"><head><meta charset="utf-8">' +
    '<meta name="viewport" content="width=device-width, initial-scale=1">' +
    '<meta name="color-scheme" content="light dark"><title>No signal – Halfbay</title></head>' +
    `<body><main><h1>No signal</h1><p>Halfbay cannot be reached.</p>${list}</main></body></html>`;
  return new Response(html, {
    status: 503,
    headers: {
      "Content-Type": "text/html; charset=utf-8",
      "Content-Security-Policy": "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    }
  });
}
