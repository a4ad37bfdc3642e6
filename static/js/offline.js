"use strict";

/* Work without a network. Pages are kept by the service worker; what is typed is kept here, in this browser, under the
   name of who typed it, and sent when the network answers again. */

const page = document.documentElement;
const person = document.body.dataset.person;
const shelf = `later-${person}`;

function later() {
  return JSON.parse(localStorage.getItem(shelf) || "[]");
}

function keepLater(notes) {
  if (notes.length) localStorage.setItem(shelf, JSON.stringify(notes));
  else localStorage.removeItem(shelf);
}

function say(id, fill = () => {}) {
  const words = document.getElementById(id).content.cloneNode(true);
  fill(words);
  document.getElementById("messages").append(words);
}

/* A page that comes from this device says so. */

if (page.dataset.kept) {
  say("kept-notice", (words) => {
    const time = words.querySelector("time");
    time.dateTime = page.dataset.kept;
    time.textContent = new Date(page.dataset.kept).toLocaleString(page.lang);
  });
}

/* Notes: a swap as far as it was typed, each with the time at which the register last kept it. */

function note(tag, steps, keptAt) {
  const notes = later();
  const known = notes.find((one) => one.tag === tag);
  if (known) Object.assign(known.steps, steps);
  else notes.push({ tag, steps, keptAt });
  keepLater(notes);
}

function typedIn(part) {
  const typed = {};
  for (const field of part.querySelectorAll("input, select, textarea")) {
    if (!field.name || field.name === "csrfmiddlewaretoken") continue;
    if ((field.type === "radio" || field.type === "checkbox") && !field.checked) continue;
    typed[field.name] = field.value;
  }
  return typed;
}

function noteForm(form) {
  const steps = {};
  for (const part of form.querySelectorAll("[data-step]")) steps[part.dataset.step] = typedIn(part);
  if (form.dataset.step) steps[form.dataset.step] = typedIn(form);
  note(form.dataset.tag || tagInAddress(), steps, form.dataset.keptAt || "");
  if (!document.querySelector("#messages .noted")) say("noted-notice");
}

/* The kept form of a swap answers at the address of any tag's swap. */
function tagInAddress() {
  const found = location.pathname.match(/^\/tags\/([^/]+)\/replace\//);
  return found ? decodeURIComponent(found[1]) : "";
}

for (const form of document.querySelectorAll("form[data-swap]")) {
  const name = form.querySelector("[data-tag-name]");
  if (name && tagInAddress()) {
    name.textContent = tagInAddress();
    const now = new Date();
    form.elements.on.value = new Date(now - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
    form.hidden = false;
    document.querySelector(".no-tag").hidden = true;
  }
  form.addEventListener("submit", (event) => {
    if (navigator.onLine && !page.dataset.kept) return;
    event.preventDefault();
    noteForm(form);
  });
  form.addEventListener("htmx:sendError", (event) => {
    event.stopPropagation();
    noteForm(form);
  });
  form.addEventListener("htmx:afterRequest", (event) => {
    form.dataset.keptAt = event.detail.xhr.getResponseHeader("Kept-At") || form.dataset.keptAt;
  });
}

/* Sending. What changed on the register meanwhile is shown, and the person decides. */

async function send(one) {
  let keptAt = one.keptAt;
  for (const [step, typed] of Object.entries(one.steps)) {
    const headers = { "HX-Request": "true", ...JSON.parse(document.body.getAttribute("hx-headers")) };
    const body = new URLSearchParams({ ...typed, "kept-at": keptAt });
    const address = `/tags/${encodeURIComponent(one.tag)}/replace/${step}/`;
    const answer = await fetch(address, { method: "POST", headers, body, redirect: "manual" });
    if (answer.status !== 204) return answer.status;
    keptAt = answer.headers.get("Kept-At");
  }
  return 204;
}

async function sendAll() {
  if (!person || page.dataset.kept) return;
  for (const one of later()) {
    let status;
    try {
      status = await send(one);
    } catch {
      return; // still no network
    }
    if (status === 204) keepLater(later().filter((other) => other.tag !== one.tag));
    say(status === 204 ? "sent-notice" : status === 409 ? "conflict-notice" : "unsent-notice", (words) => {
      for (const place of words.querySelectorAll("[data-tag-name]")) place.textContent = one.tag;
      const link = words.querySelector("a");
      if (link) link.href = `/tags/${encodeURIComponent(one.tag)}/replace/`;
      const list = words.querySelector("[data-typed]");
      for (const typed of list ? Object.values(one.steps).flatMap(Object.values).filter(Boolean) : []) {
        list.append(Object.assign(document.createElement("li"), { textContent: typed }));
      }
      words.querySelector("[data-send-mine]")?.addEventListener("click", (event) => {
        keepLater(later().map((other) => (other.tag === one.tag ? { ...other, keptAt: "whatever" } : other)));
        event.target.closest(".notice").remove();
        sendAll();
      });
      words.querySelector("[data-throw-mine]")?.addEventListener("click", (event) => {
        keepLater(later().filter((other) => other.tag !== one.tag));
        event.target.closest(".notice").remove();
      });
    });
  }
}

addEventListener("online", sendAll);
sendAll();

/* Keeping an area, on the page for it; what is kept is shown there without a network. */

const area = document.getElementById("area");

async function keepArea() {
  const progress = document.getElementById("keeping");
  const answer = await fetch(area.value);
  const said = await answer.json();
  if (!answer.ok) {
    progress.textContent = said.message;
    return;
  }
  await navigator.serviceWorker.register("/service-worker.js");
  await caches.delete("kept");
  const cache = await caches.open("kept");
  const addresses = [...said.assets, "/offline/", "/offline/swap/", ...said.pages];
  let done = 0;
  const fetchNext = async () => {
    for (let address = addresses.shift(); address; address = addresses.shift()) {
      const one = await fetch(address, { headers: { Purpose: "prefetch" } });
      if (one.ok && !one.redirected) await cache.put(address, one);
      progress.textContent = progress.dataset.words.replace("%", ++done);
    }
  };
  await Promise.all([fetchNext(), fetchNext(), fetchNext()]);
  localStorage.setItem("kept-area", JSON.stringify({ area: said.area, tags: said.tags }));
  progress.textContent = progress.dataset.done;
  showKept();
}

function showKept() {
  const { area: name, tags } = JSON.parse(localStorage.getItem("kept-area") || '{"tags": []}');
  const list = document.getElementById("kept-tags");
  document.getElementById("kept-area").textContent = name || "";
  list.replaceChildren(
    ...tags.map((tag) => {
      const link = Object.assign(document.createElement("a"), { className: "card card-link", textContent: tag });
      link.href = `/panel/${encodeURIComponent(tag)}/`;
      const item = document.createElement("li");
      item.append(link);
      return item;
    }),
  );
  document.getElementById("kept").hidden = !tags.length;
}

if (area) {
  document.getElementById("choose").hidden = Boolean(page.dataset.kept) || !("serviceWorker" in navigator);
  document.getElementById("keep").addEventListener("click", keepArea);
  showKept();
}

/* Signing out takes the kept pages off the device; what is not sent yet stays for the one who typed it. */

if (!person && "caches" in window) {
  caches.delete("kept");
  localStorage.removeItem("kept-area");
}
