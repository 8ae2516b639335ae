// What the pages do better with script: the access is never typed into an
// address, news come by themselves, photos are shown before they are sent.
"use strict";

// An access handed over behind "#" stays in the browser: it is posted, so that
// it reaches no log.
function enterFromFragment() {
  const form = document.getElementById("enter");
  const secret = location.hash.slice(1);
  if (!form || !secret.startsWith("rl_")) return;
  history.replaceState(null, "", location.pathname);
  form.elements.token.value = secret;
  form.requestSubmit();
}

// A one-time link is handed over in the same way.
function openInvitation() {
  const form = document.getElementById("invitation");
  const secret = location.hash.slice(1);
  if (!form || !secret) return;
  history.replaceState(null, "", location.pathname);
  form.elements.link.value = secret;
  form.requestSubmit();
}

// Fetch the page again and put its live parts in the place of the old ones.
// Where somebody has opened something or is about to touch it, it stays.
let fetching = false;
let again = false;
async function refresh() {
  if (fetching) { again = true; return; }
  fetching = true;
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (!answer.ok) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.body.dataset.seq = fresh.body.dataset.seq;
    for (const id of ["danger", "floor", "moves", "supports", "now", "carrying", "lines", "drawn", "shaded"]) swap(id, fresh.getElementById(id));
  } catch {
    // Away for a moment: the stream comes back and brings the number with it.
  } finally {
    fetching = false;
    if (again) { again = false; refresh(); }
  }
}

function swap(id, fresh) {
  const old = document.getElementById(id);
  if (!old && fresh && id === "danger") { document.getElementById("floor")?.before(fresh); return; }
  if (!old) return;
  if (!fresh) { if (id === "danger") old.remove(); return; }
  const held = old.contains(document.activeElement) && document.activeElement;
  const mark = held && (held.dataset?.support || held.getAttribute("href"));
  const scrolled = [...old.querySelectorAll(".sheet, .scroll")].map((e) => [e.scrollLeft, e.scrollTop]);
  const opened = [...old.querySelectorAll("details")].map((e) => e.open);
  const before = texts(old);
  old.replaceWith(fresh);
  fresh.querySelectorAll(".sheet, .scroll").forEach((e, i) => { if (scrolled[i]) [e.scrollLeft, e.scrollTop] = scrolled[i]; });
  fresh.querySelectorAll("details").forEach((e, i) => { e.open = opened[i] || false; });
  for (const g of fresh.querySelectorAll("[data-support]")) {
    if (before.has(g.dataset.support) && before.get(g.dataset.support) !== g.textContent) g.classList.add("moved");
  }
  if (mark) [...fresh.querySelectorAll("a, [data-support]")].find((e) => e.dataset?.support === mark || e.getAttribute("href") === mark)?.focus();
}

function texts(root) {
  return new Map([...root.querySelectorAll("[data-support]")].map((g) => [g.dataset.support, g.textContent]));
}

function listen() {
  const address = document.body.dataset.live;
  if (!address || !window.EventSource) return;
  const stream = new EventSource(address);
  stream.addEventListener("head", (e) => {
    const { seq } = JSON.parse(e.data);
    if (seq > Number(document.body.dataset.seq)) refresh();
  });
}

// Show chosen photos before they are sent.
function preview(input) {
  const place = input.closest("fieldset")?.querySelector(".preview");
  if (!place) return;
  place.querySelectorAll(`[data-of="${input.id || input.accept + input.multiple}"]`).forEach((e) => e.remove());
  for (const file of input.files) {
    const img = document.createElement("img");
    img.dataset.of = input.id || input.accept + input.multiple;
    img.alt = file.name;
    img.src = URL.createObjectURL(file);
    img.onload = () => URL.revokeObjectURL(img.src);
    place.append(img);
  }
}

// A second press while the first is on its way sends nothing.
function once(form) {
  form.addEventListener("submit", (e) => {
    if (form.dataset.sent) e.preventDefault();
    form.dataset.sent = "yes";
  });
  addEventListener("pageshow", () => { delete form.dataset.sent; });
}

// On a phone the supports that move next may lie beside what the sheet shows.
function bringIntoSight(mark) {
  const sheet = mark?.closest(".sheet");
  if (!sheet) return;
  const [at, seen] = [mark.getBoundingClientRect(), sheet.getBoundingClientRect()];
  if (at.right > seen.right) sheet.scrollLeft += at.left - seen.left - seen.width / 2;
}

enterFromFragment();
openInvitation();
listen();
bringIntoSight(document.querySelector(".sheet rect.order"));
document.querySelectorAll("form[method=post]").forEach(once);
document.querySelectorAll("input[type=file][name=photo]").forEach((i) => i.addEventListener("change", () => preview(i)));

// A new job lies where this device is, until somebody says otherwise.
const zone = document.querySelector("[data-zone]");
if (zone && !zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";
