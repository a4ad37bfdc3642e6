"use strict";

/* Answers for the register when the network does not, with what its person chose to keep (see /offline/). Nothing is
   kept that was not asked for, and while the network answers everything comes from there. */

const KEPT = "kept";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || new URL(request.url).origin !== self.location.origin) return;
  event.respondWith(fetch(request).catch((fault) => kept(request, fault)));
});

async function kept(request, fault) {
  const cache = await caches.open(KEPT);
  const options = { ignoreVary: true, ignoreSearch: request.mode === "navigate" };
  const found = await cache.match(request, options);
  if (request.mode !== "navigate") {
    if (found) return found;
    throw fault;
  }
  const isSwap = /^\/tags\/[^/]+\/replace\//.test(new URL(request.url).pathname);
  const page = found || (await cache.match(isSwap ? "/offline/swap/" : "/offline/", options));
  if (!page) throw fault;
  const html = (await page.text()).replace("<html ", `<html data-kept="${new Date(page.headers.get("date")).toISOString()}" `);
  const headers = new Headers({ "Content-Type": "text/html; charset=utf-8" });
  headers.set("Content-Security-Policy", page.headers.get("Content-Security-Policy"));
  return new Response(html, { headers });
}
