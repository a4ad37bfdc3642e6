"use strict";

/* What every page does beyond HTML and htmx. Each part works on attributes that templates set (see templates/base.html);
   without this file every page still works. */

const root = document.documentElement;

/* Display: theme and single keys are cookies that the server reads; here they take effect without leaving the page. */

document.addEventListener("click", (event) => {
  const button = event.target.closest(".display button");
  if (!button || button.name === "language") return; // the words come from the server
  event.preventDefault();
  const secure = location.protocol === "https:" ? "; secure" : "";
  document.cookie = `${button.name}=${button.value}; path=/; max-age=${365 * 24 * 60 * 60}; samesite=lax${secure}`;
  root.dataset[button.name] = button.value;
  for (const one of document.querySelectorAll(`.display button[name=${button.name}]`)) {
    one.setAttribute("aria-pressed", String(one.value === button.value));
  }
});

/* The pages that say what went wrong are made without a request, so without its cookies. */
if (!root.dataset.theme) {
  const kept = document.cookie.match(/(?:^|; )theme=(\w+)/);
  if (kept) root.dataset.theme = kept[1];
}

/* Menus close by Escape and by a click elsewhere. */

function closeMenus(except) {
  for (const menu of document.querySelectorAll("details.menu[open]")) {
    if (menu !== except) menu.open = false;
  }
}

document.addEventListener("click", (event) => closeMenus(event.target.closest("details.menu")));

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  const menu = document.querySelector("details.menu[open]");
  if (!menu) return;
  menu.open = false;
  menu.querySelector("summary").focus();
});

/* Single keys: what carries data-key, and j and k through the rows of a table. */

function moveInTable(step) {
  const rows = [...document.querySelectorAll("tbody tr")].filter((row) => row.querySelector("a, button"));
  if (!rows.length) return;
  const here = rows.findIndex((row) => row.contains(document.activeElement));
  const next = here < 0 ? rows[0] : rows[Math.min(Math.max(here + step, 0), rows.length - 1)];
  next.querySelector("a, button").focus();
}

/* In a workbench, keys for the row that has the focus: p looks at it beside the list, e changes it. */

function keyOfRow(key) {
  const row = document.activeElement.closest(".workbench tbody tr");
  if (!row) return false;
  const { edit } = row.closest(".workbench").dataset;
  if (key === "p") row.querySelector(".peek-link").click();
  else if (key === "e" && edit) location.assign(row.querySelector("a").href + edit);
  else return false;
  return true;
}

document.addEventListener("keydown", (event) => {
  if (root.dataset.keys === "off" || event.ctrlKey || event.metaKey || event.altKey || event.isComposing) return;
  if (event.target.closest("input, select, textarea, dialog, [contenteditable]")) return;
  if (keyOfRow(event.key)) {
    event.preventDefault();
    return;
  }
  const wanted = [...document.querySelectorAll(`[data-key="${CSS.escape(event.key)}"]`)].at(-1); // the page's own first
  if (wanted) {
    event.preventDefault();
    if (wanted.matches("input")) {
      wanted.focus();
      wanted.select();
    } else {
      wanted.click();
    }
  } else if (event.key === "j" || event.key === "k") {
    event.preventDefault();
    moveInTable(event.key === "j" ? 1 : -1);
  }
});

/* Buttons: open a dialog, print the page, turn a number's sign. */

document.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.opens) document.getElementById(button.dataset.opens).showModal();
  if ("print" in button.dataset) print();
  if (button.dataset.signOf) {
    const input = document.getElementById(button.dataset.signOf);
    input.value = input.value.startsWith("-") ? input.value.slice(1) : `-${input.value}`;
    input.dispatchEvent(new Event("input", { bubbles: true }));
    input.focus();
  }
});

/* A form that is sent twice by an impatient finger is sent once. */

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (event.defaultPrevented || (event.submitter?.formMethod || form.method) !== "post") return;
  if (form.dataset.sent) {
    event.preventDefault();
  } else {
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, 4000);
  }
});

/* What needs to be read first takes the focus: the summary of errors above a form. */

function focusFirst(part) {
  part.querySelector("[data-focus]")?.focus();
}

focusFirst(document);

/* Enter in a workbench's words goes on to the first row that they leave. */

document.addEventListener("submit", (event) => {
  if (event.target.id !== "narrow") return;
  document.addEventListener("htmx:afterSettle", () => document.querySelector(".workbench tbody a")?.focus(), { once: true });
});
document.addEventListener("htmx:afterSwap", (event) => focusFirst(event.target));

/* A part of a page that does not come is said, not left out. */

function sayNoAnswer() {
  document.getElementById("messages").replaceChildren(document.getElementById("no-answer").content.cloneNode(true));
}

document.addEventListener("htmx:responseError", sayNoAnswer);
document.addEventListener("htmx:sendError", sayNoAnswer);

/* A part of the diagram opens beside it, and so does the form that changes it: tried, saved or refused there. */

document.addEventListener("click", (event) => {
  const link = event.target.closest("[data-opens-beside], [data-edit-beside]");
  const box = document.getElementById("beside");
  if (!link || !box || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const address = link.getAttribute("href");
  if (link.hasAttribute("data-opens-beside")) {
    history.replaceState(history.state, "", address);
    htmx.ajax("GET", address, { target: "#beside", swap: "outerHTML" }).then(() => document.getElementById("beside").focus());
  } else {
    box.dataset.form = address;
    htmx.ajax("GET", address, { target: "#beside", swap: "innerHTML", select: ".page-content" });
  }
});

document.addEventListener("htmx:afterSettle", () => {
  const box = document.getElementById("beside");
  const form = box?.dataset.form && box.querySelector("form[method=post]:not([hx-post])");
  if (!form) return;
  for (const [name, value] of Object.entries({ post: box.dataset.form, target: "#beside", swap: "innerHTML", select: ".page-content" })) {
    form.setAttribute(`hx-${name}`, value);
  }
  htmx.process(form);
  box.focus();
});
